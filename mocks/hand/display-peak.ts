import type { Rng } from '../../src/system/rng.ts'
import { type Adjuster, TRAVEL } from '../plant/adjusters.ts'
import type { Tool } from './tool.ts'

/** Looking for the largest reading of a meter that only a person can see: nudge, wait, read. */
export interface DisplayPeak {
  /** One look at a display that has stood still, with the tool at rest; true when the top is found. */
  look(adjuster: Adjuster, value: number): boolean
  /** Another adjuster, or a new start. */
  afresh(): void
}

interface Climb {
  direction: 1 | -1
  /** Where the tool is, from where it began, and how far it went since the last change of direction. */
  at: number
  went: number
  /** The best so far, and the first and last place in a row at which it was read. */
  best: number
  from: number
  to: number
  turnedBack: boolean
  back: boolean
  /** On the way back: the value at the last place, and whether the last step was taken back. */
  here: number | null
  settled: boolean
}

/** A hand that has not turned yet; its first direction is a guess. */
export function createDisplayPeak(tool: Tool, rng: Rng): DisplayPeak {
  let climb: Climb | null = null

  const nudge = (now: Climb, adjuster: Adjuster, by: number) => {
    now.at += by
    now.went += Math.abs(by)
    tool.turn(adjuster, by)
  }
  const turnRound = (now: Climb) => {
    now.direction = now.direction === 1 ? -1 : 1
    now.turnedBack = true
    now.went = 0
  }
  const goBack = (now: Climb, adjuster: Adjuster) => {
    now.back = true
    nudge(now, adjuster, (now.from + now.to) / 2 - now.at)
    now.direction = now.direction === 1 ? -1 : 1
  }

  /** Over the top, wrong way, at a stop, or on. */
  const goOn = (now: Climb, adjuster: Adjuster, value: number) => {
    if (value > now.best) Object.assign(now, { best: value, from: now.at, to: now.at })
    else if (value === now.best) now.to = now.at
    const over = value <= now.best - OVER_SHARE * Math.abs(now.best)
    const ends = tool.atStop(adjuster) !== 0 || now.went > FAR[TRAVEL[adjuster].kind]
    if ((over || ends) && !now.turnedBack && now.from === 0) turnRound(now)
    else if (over || ends) return goBack(now, adjuster)
    nudge(now, adjuster, now.direction * NUDGE[TRAVEL[adjuster].kind])
  }

  /**
   * Back where the best was read. A set that grows warm gives less there than it did: then small steps on while they gain,
   * and the first one that does not is taken back.
   */
  const settle = (now: Climb, adjuster: Adjuster, value: number): boolean => {
    const { here } = now
    const step = now.direction * (NUDGE[TRAVEL[adjuster].kind] / 4)
    if (here === null && value >= now.best - SAME_SHARE * Math.abs(now.best)) return true
    if (now.settled) return true
    if (here !== null && value <= here) {
      now.settled = true
      tool.turn(adjuster, -step)
      return false
    }
    now.here = value
    tool.turn(adjuster, step)
    return false
  }

  return {
    afresh: () => {
      climb = null
    },
    look: (adjuster, value) => {
      if (!climb) {
        const direction = tool.direction(adjuster) || (rng() < 0.5 ? 1 : -1)
        climb = {
          direction,
          at: 0,
          went: 0,
          best: value,
          from: 0,
          to: 0,
          turnedBack: false,
          back: false,
          here: null,
          settled: false,
        }
      }
      if (!climb.back) {
        goOn(climb, adjuster, value)
        return false
      }
      return settle(climb, adjuster, value)
    },
  }
}

/** One nudge of each kind of adjuster, and how far it is turned one way without finding anything, in its own unit. */
const NUDGE = { coil: 0.12, preset: 8 / 270, endless: 10 / 360 } as const
const FAR = { coil: 2.5, preset: 1, endless: 1 } as const
/** Fallen by so much from the best, the top has been passed: 0.13 dB. */
const OVER_SHARE = 0.03
/** As good as the best. */
const SAME_SHARE = 0.008
