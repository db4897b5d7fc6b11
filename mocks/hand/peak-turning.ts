import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { Adjuster } from '../plant/adjusters.ts'
import type { Tool } from './tool.ts'

/** Turning over a top: slowly on, back when the guide says so, still when it says "at best". */
export interface PeakTurning {
  /** Called with what is seen while the guide wants turning. */
  follow(frame: LiveFrame, adjuster: Adjuster, nowMs: number): void
  /** One small turn, once each time a new one is asked for. */
  nudge(frame: LiveFrame, adjuster: Adjuster): void
  /** A small turn is still being made. */
  nudging(): boolean
}

/** A hand that has not turned yet; its first direction at each adjuster is a guess. */
export function createPeakTurning(tool: Tool, rng: Rng, moveError: number): PeakTurning {
  let at: Adjuster | null = null
  let direction: 1 | -1 = 1
  let told = false
  let reversedMs = 0
  let belowThen = 0
  let turnedThen = 0
  let nudged = 0

  const take = (adjuster: Adjuster) => {
    if (adjuster === at) return
    at = adjuster
    direction = tool.direction(adjuster) || (rng() < 0.5 ? 1 : -1)
    told = false
    nudged = 0
    turnedThen = tool.turned[adjuster] ?? 0
  }
  const reverse = (frame: LiveFrame, adjuster: Adjuster, nowMs: number) => {
    direction = direction === 1 ? -1 : 1
    reversedMs = nowMs
    belowThen = frame.peak?.belowDb ?? 0
    turnedThen = tool.turned[adjuster] ?? 0
  }

  return {
    follow: (frame, adjuster, nowMs) => {
      take(adjuster)
      const back = frame.guide.way === 'back'
      const below = frame.peak?.belowDb ?? 0
      if (back && !told) reverse(frame, adjuster, nowMs)
      else if (back && nowMs - reversedMs > MISTAKEN_MS && below > belowThen + MISTAKEN_DB)
        reverse(frame, adjuster, nowMs)
      else if ((tool.turned[adjuster] ?? 0) - turnedThen > FAR_TURNS) reverse(frame, adjuster, nowMs)
      told = back
      const returning = frame.state === 'return'
      tool.keepTurning(adjuster, direction, returning ? (below < CLOSE_DB ? 0.35 : 0.6) : 0.9)
    },
    nudge: ({ peak }, adjuster) => {
      take(adjuster)
      const order = peak?.nudge
      if (!order || order.number === nudged) return
      nudged = order.number
      if (order.back || tool.atStop(adjuster) !== 0) direction = direction === 1 ? -1 : 1
      tool.turn(adjuster, direction * order.tenths * TENTH * (1 + moveError * (2 * rng() - 1)))
    },
    nudging: () => nudged > 0 && tool.busy(),
  }
}

/** Turned back and it still falls: after so long, and by so much more, the way back was the wrong one. */
const MISTAKEN_MS = 2500
const MISTAKEN_DB = 0.25
/** Nobody goes on one way for longer than this without a word from the guide. */
const FAR_TURNS = 2.5
const CLOSE_DB = 0.15
/** A tenth of a turn. */
const TENTH = 0.1
