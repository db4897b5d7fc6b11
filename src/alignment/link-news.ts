import type { LinkNews } from '../bench/bench.ts'
import type { Words } from '../words/said/said.ts'

/** News of an instrument as jobs and watches hear it. */
export interface LinkEvent {
  readonly kind: 'link'
  readonly instrument: string
  readonly up: boolean
  readonly words: Words
}

export function eventOf({
  instrument,
  up,
  fault,
  missed,
}: LinkNews): LinkEvent | (Omit<LinkEvent, 'kind' | 'up'> & { readonly kind: 'missed' }) {
  const words = fault ? fault.message : ''
  return missed ? { kind: 'missed', instrument, words } : { kind: 'link', instrument, up, words }
}

/** Which instruments do not answer, and why: whoever begins later is told too. */
export function linkNews() {
  const down = new Map<string, LinkEvent>()
  return {
    keep(news: LinkNews): void {
      const event = eventOf(news)
      if (event.kind === 'missed') return
      if (event.up) down.delete(event.instrument)
      else down.set(event.instrument, event)
    },
    down: (): readonly LinkEvent[] => [...down.values()],
  }
}
