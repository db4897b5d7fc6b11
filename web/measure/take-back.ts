import type { LiveFrame } from '../../src/schema/messages/shown.ts'

/** Whole seconds in which the last capture can still be taken back, at least 1 for as long as it is offered; null while it is not. `nowMs`: the service's clock. */
export function secondsLeft({ offers, takeBackUntilMs, atMs }: LiveFrame, nowMs: number): number | null {
  if (!offers.includes('take back') || takeBackUntilMs === undefined) return null
  return Math.max(1, Math.ceil((takeBackUntilMs - Math.max(nowMs, atMs)) / 1000))
}

/** What a long press would be: a value that is asked about is right, the last capture was a mistake, or this moment matters. Marks belong to a job. */
export function longPressOf(frame: LiveFrame): 'keep' | 'take back' | 'mark' | null {
  if (frame.offers.includes('keep')) return 'keep'
  if (frame.offers.includes('take back')) return 'take back'
  return frame.mode === 'job' ? 'mark' : null
}
