import type { Rng } from '../../src/system/rng.ts'
import { type Adjuster, TRAVEL } from '../plant/adjusters.ts'
import type { SimulatedSet } from '../plant/simulated-set.ts'
import { draw, type Skill } from './skill.ts'

/** The trimming tool: it turns at a hand's speed, has play on reversal, and takes time to change adjusters. */
export interface Tool {
  /** Starts turning by `amount` (turns, or shares of 270 degrees), rounded to the finest step; replaces a turn under way. */
  turn(adjuster: Adjuster, amount: number): void
  /** Keeps turning one way at `share` of the usual speed until told otherwise. */
  keepTurning(adjuster: Adjuster, direction: 1 | -1, share: number): void
  /** Stops, tool stays in. */
  stop(): void
  /** Stops and takes the tool out. */
  out(): void
  /** Turning, or on the way to an adjuster. */
  busy(): boolean
  /** Moves on to `nowMs`. */
  tick(nowMs: number): void
  /** The direction last turned at an adjuster; 0 before the first. */
  direction(adjuster: Adjuster): 1 | -1 | 0
  /** The way in which a stop was felt at the end of the last turn; 0: none. */
  atStop(adjuster: Adjuster): 1 | -1 | 0
  /** Turned so far, both ways added, by adjuster: turns, or shares of 270 degrees; play not counted. */
  readonly turned: Readonly<Partial<Record<Adjuster, number>>>
  /** Times in which it was busy, ms. */
  readonly busyTimes: readonly (readonly [number, number])[]
}

interface Turning {
  readonly adjuster: Adjuster
  readonly direction: 1 | -1
  left: number
  /** The hand's own speed at this turn, and how much of it is used. */
  readonly perS: number
  share: number
}

/** The finest step that fingers manage, in the adjuster's unit: a degree; a hundredth of a turn of a slug. */
export function finestStep(adjuster: Adjuster): number {
  return { coil: 0.01, preset: 1 / 270, endless: 1 / 360 }[TRAVEL[adjuster].kind]
}

/** A tool that is in nothing yet. */
export function createTool(set: SimulatedSet, skill: Skill, rng: Rng): Tool {
  const directions = new Map<Adjuster, 1 | -1>()
  const turned: Partial<Record<Adjuster, number>> = {}
  const busyTimes: [number, number][] = []
  const stops = new Map<Adjuster, 1 | -1>()
  let turning: Turning | null = null
  let inside: Adjuster | null = null
  let last: Adjuster | null = null
  let thereAtMs = 0
  let playLeft = 0
  let atMs = 0

  const start = (adjuster: Adjuster, direction: 1 | -1, left: number, perS: number) => {
    if (last !== adjuster) {
      thereAtMs = atMs + draw(skill.changeToolMs, rng)
      playLeft = 0
    }
    const before = directions.get(adjuster)
    if (before !== undefined && before !== direction) playLeft = playAt(adjuster, skill, rng)
    directions.set(adjuster, direction)
    stops.delete(adjuster)
    last = adjuster
    turning = { adjuster, direction, left, perS, share: 1 }
  }
  const markBusy = (fromMs: number, toMs: number) => {
    const open = busyTimes.at(-1)
    if (open && open[1] === fromMs) open[1] = toMs
    else busyTimes.push([fromMs, toMs])
  }
  const advance = (move: Turning, seconds: number) => {
    let reach = move.perS * move.share * seconds
    const lost = Math.min(playLeft, reach)
    playLeft -= lost
    reach = Math.min(reach - lost, move.left)
    move.left -= reach
    if (reach <= 0) return
    const went = Math.abs(set.turn(move.adjuster, move.direction * reach))
    turned[move.adjuster] = (turned[move.adjuster] ?? 0) + went
    if (went > reach - FELT) return
    stops.set(move.adjuster, move.direction)
    move.left = 0
  }

  return {
    turned,
    busyTimes,
    turn: (adjuster, amount) => {
      const step = finestStep(adjuster)
      const left = Math.round(Math.abs(amount) / step) * step
      if (left > 0) start(adjuster, amount > 0 ? 1 : -1, left, usualPerS(adjuster, skill, rng))
    },
    keepTurning: (adjuster, direction, share) => {
      const goesOn = turning?.adjuster === adjuster && turning.direction === direction && !Number.isFinite(turning.left)
      if (!goesOn) start(adjuster, direction, Number.POSITIVE_INFINITY, usualPerS(adjuster, skill, rng))
      if (turning) turning.share = share
    },
    stop: () => {
      turning = null
    },
    out: () => {
      turning = null
      if (inside !== null) set.hand(null)
      inside = null
    },
    busy: () => turning !== null,
    direction: (adjuster) => directions.get(adjuster) ?? 0,
    atStop: (adjuster) => stops.get(adjuster) ?? 0,
    tick: (nowMs) => {
      const fromMs = atMs
      atMs = nowMs
      if (!turning) return
      markBusy(fromMs, nowMs)
      if (nowMs < thereAtMs) return
      if (inside !== turning.adjuster) set.hand(turning.adjuster)
      inside = turning.adjuster
      advance(turning, (nowMs - Math.max(fromMs, thereAtMs)) / 1000)
      if (turning.left <= 0) turning = null
    },
  }
}

/** The hand's own speed at a turn, in the adjuster's unit a second. */
function usualPerS(adjuster: Adjuster, skill: Skill, rng: Rng): number {
  const { kind } = TRAVEL[adjuster]
  if (kind === 'coil') return draw(skill.slugTurnsPerS, rng)
  return kind === 'preset' ? draw(skill.presetDegreesPerS, rng) / 270 : draw(skill.trimmerDegreesPerS, rng) / 360
}

/** The tool's play at a reversal, in the adjuster's unit. */
function playAt(adjuster: Adjuster, skill: Skill, rng: Rng): number {
  const { kind } = TRAVEL[adjuster]
  if (kind === 'coil') return draw(skill.slugSlopTurns, rng)
  return draw(skill.smallSlopDegrees, rng) / (kind === 'preset' ? 270 : 360)
}

/** Less than this short of where it should have gone is no stop, in the adjuster's unit. */
const FELT = 1e-9
