import { normal, type Rng } from '../../../src/system/rng.ts'
import { droopDb, levelDb, TOP_WATTS } from './two-slugs.ts'

/** A hand with a trimming tool, and the meter it looks at. Turns, seconds, dB. */
export interface HandWorld {
  readonly sigmaDb: number
  /** First-order lag of the meter, s. */
  readonly lagS: number
  readonly everyS: number
  readonly stepWatts: number
  readonly turnsPerS: number
  readonly slowTurnsPerS: number
  readonly reactionS: number
  /** What the tool turns without the core after a reversal. */
  readonly slopTurns: number
  /** Carrier on and off, s; null for a carrier without end. */
  readonly keying: { readonly onS: number; readonly offS: number } | null
}

export const HAND_WORLD: HandWorld = {
  sigmaDb: 0.02,
  lagS: 0.3,
  everyS: 0.25,
  stepWatts: 0.01,
  turnsPerS: 0.15,
  slowTurnsPerS: 0.06,
  reactionS: 0.35,
  slopTurns: 0.03,
  keying: null,
}

/** How a job on two slugs ended. */
export interface PeakJob {
  /** dB under the best place, cold. */
  readonly lossDb: number
  readonly seconds: number
  readonly turns: number
  readonly rounds: number
  readonly finished: boolean
}

/** Time of the simulation goes in steps of so much, s. */
export const TICK_S = 0.05
/** After key-down readings do not count for this long. */
const HOLD_OFF_S = 0.5
const COOLS_S = 60

/** Two slugs, the tool in one of them, the final stage and the meter. */
export interface Body {
  readonly world: HandWorld
  readonly slugs: [number, number]
  keyed: boolean
  /** How long the carrier was on, less what has cooled, s. */
  keyedS: number
  /** What the meter shows before noise and steps, dB. */
  shownDb: number
  nextReadingS: number
  slopLeft: number
  way: number
  turns: number
}

export function startBody(start: readonly [number, number], world: HandWorld): Body {
  return {
    world,
    slugs: [start[0], start[1]],
    keyed: true,
    keyedS: 0,
    shownDb: levelDb(...start),
    nextReadingS: 0,
    slopLeft: world.slopTurns,
    way: 0,
    turns: 0,
  }
}

/** Carrier, heat and meter one tick further; "keyed" when the key has just come down after a rest. */
export function liveOn(body: Body, atS: number, keyed: boolean): 'keyed' | 'same' {
  const { world } = body
  body.keyedS = keyed ? body.keyedS + TICK_S : body.keyedS * Math.exp(-TICK_S / COOLS_S)
  const comes = keyed && !body.keyed
  body.keyed = keyed
  if (comes) {
    body.nextReadingS = atS + HOLD_OFF_S + world.everyS
    body.shownDb = levelDb(...body.slugs) - droopDb(body.keyedS)
  }
  return comes ? 'keyed' : 'same'
}

/** Whether the pattern of key-downs has the carrier on now. */
export function keyedAt({ keying }: HandWorld, atS: number): boolean {
  return keying === null || atS % (keying.onS + keying.offS) < keying.onS
}

/** Turns slug 0 or 1 by `amount` in this tick; after a reversal the play of the tool goes first. */
export function turnSlug(body: Body, slug: 0 | 1, amount: number): void {
  const way = Math.sign(amount)
  if (way === 0) return
  if (way !== body.way) body.slopLeft = body.world.slopTurns
  body.way = way
  const size = Math.abs(amount)
  const lost = Math.min(body.slopLeft, size)
  body.slopLeft -= lost
  body.turns += size
  body.slugs[slug] += way * (size - lost)
}

/** The meter follows; a reading in W when one is due, else null. */
export function meterSays(body: Body, atS: number, rng: Rng): number | null {
  const { world } = body
  const level = levelDb(...body.slugs) - droopDb(body.keyedS)
  body.shownDb += ((level - body.shownDb) * TICK_S) / world.lagS
  if (atS < body.nextReadingS) return null
  body.nextReadingS += world.everyS
  const watts = TOP_WATTS * 10 ** ((body.shownDb + world.sigmaDb * normal(rng)) / 10)
  return Math.round(watts / world.stepWatts) * world.stepWatts
}

/** The job as it stands. */
export function jobOf(
  body: Body,
  seconds: number,
  rounds: { readonly round: number; readonly done: boolean },
): PeakJob {
  return { lossDb: -levelDb(...body.slugs), seconds, turns: body.turns, rounds: rounds.round, finished: rounds.done }
}
