import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import type { Rng } from '../../src/system/rng.ts'
import { draw, type Span } from './skill.ts'

/** What the technician goes by, at a moment. */
export interface Seen {
  readonly frame: LiveFrame
  readonly nowMs: number
  /** The service's clock at that moment, ms. */
  readonly serviceMs: number
  /** Since when the same has been shown, as the technician noticed it, ms. */
  readonly sinceMs: number
}

/** What the technician has noticed of the gauge: the newest frame that is older than a reaction. */
export interface Sight {
  show(frame: LiveFrame, nowMs: number): void
  /** null before anything was noticed. */
  seen(nowMs: number): LiveFrame | null
  /** The service's clock at a moment of ours, ms, by the newest frame. */
  serviceMs(nowMs: number): number
  /** Times of reacting to something new, ms. */
  readonly reactions: readonly (readonly [number, number])[]
}

/** Eyes that have seen nothing yet. A new state takes a reaction; what goes on is followed at the same distance. */
export function createSight(rng: Rng, reactionMs: Span): Sight {
  const coming: { readonly dueMs: number; readonly frame: LiveFrame }[] = []
  const reactions: (readonly [number, number])[] = []
  let noticed: LiveFrame | null = null
  let newest: { frame: LiveFrame; atMs: number } | null = null
  let delayMs = 0
  let lastDueMs = 0
  return {
    reactions,
    show: (frame, nowMs) => {
      if (!newest || isNews(newest.frame, frame)) {
        delayMs = draw(reactionMs, rng)
        reactions.push([nowMs, nowMs + delayMs])
      }
      newest = { frame, atMs: nowMs }
      lastDueMs = Math.max(lastDueMs, nowMs + delayMs)
      coming.push({ dueMs: lastDueMs, frame })
    },
    seen: (nowMs) => {
      for (let next = coming[0]; next && next.dueMs <= nowMs; next = coming[0]) {
        noticed = next.frame
        coming.shift()
      }
      return noticed
    },
    serviceMs: (nowMs) => (newest ? newest.frame.atMs + nowMs - newest.atMs : nowMs),
  }
}

function isNews(before: LiveFrame, after: LiveFrame): boolean {
  return (
    before.state !== after.state ||
    before.guide.way !== after.guide.way ||
    before.guide.hands !== after.guide.hands ||
    before.step?.id !== after.step?.id ||
    before.step?.adjuster !== after.step?.adjuster
  )
}
