import type { Rng } from '../../../src/system/rng.ts'
import {
  type HandWorld,
  jobOf,
  keyedAt,
  liveOn,
  meterSays,
  type PeakJob,
  startBody,
  TICK_S,
  turnSlug,
} from './peak-body.ts'

/**
 * The reference for peak.turns, written down on 2026-11-25 before the guide was tuned and not to be changed after: a hand
 * without a guide that watches the meter itself. Same speed, reaction, play, meter and heat as the hand with the guide.
 * It turns; 3 sigma below the highest reading since it last turned back it turns back. Once it has risen by 3 sigma and
 * fallen again it has been over the top, and then it stops at the first reading that is not more than 3 sigma below the
 * best it remembers, looks for as long as the other hand does, and goes on turning where that does not hold. After two
 * returns that turned short of its best it takes the last top for it, or it would chase a level that heat has taken away
 * for ever. Both slugs in rounds, until a round gains less than 0.05 dB by its own last readings, four rounds at most.
 */
export function peakByEye(start: readonly [number, number], world: HandWorld, rng: Rng): PeakJob {
  const body = startBody(start, world)
  const near = SIGMAS * world.sigmaDb
  const rounds = { round: 1, done: false }
  let roundDb = Number.NEGATIVE_INFINITY
  let slug: 0 | 1 = 0
  let eye = freshEye(rng)
  for (let tick = 0; tick * TICK_S < MOST_S; tick++) {
    const atS = tick * TICK_S
    const keyed = keyedAt(world, atS)
    if (liveOn(body, atS, keyed) === 'keyed') eye.orders = []
    if (!keyed) continue
    for (let order = eye.orders[0]; order && order.atS <= atS; order = eye.orders[0]) {
      eye.does = order.way
      eye.orders.shift()
    }
    turnSlug(body, slug, eye.does * world.turnsPerS * TICK_S)
    const watts = meterSays(body, atS, rng)
    if (watts === null) continue
    const db = 10 * Math.log10(watts)
    look(eye, db, near, atS)
    eye.orders.push({ atS: atS + world.reactionS, way: eye.stoppedS === null ? eye.way : 0 })
    if (eye.stoppedS === null || atS - eye.stoppedS < LOOKS_S) continue
    if (slug === 0) slug = 1
    else {
      const gain = db - roundDb
      roundDb = db
      slug = 0
      if (gain < ENOUGH_DB || rounds.round === MOST_ROUNDS) {
        rounds.done = true
        return jobOf(body, atS, rounds)
      }
      rounds.round += 1
    }
    eye = freshEye(rng)
    body.way = 0
  }
  return jobOf(body, MOST_S, rounds)
}

interface Eye {
  way: 1 | -1
  does: number
  orders: { readonly atS: number; readonly way: number }[]
  bestDb: number
  highDb: number
  lowDb: number
  rose: boolean
  over: boolean
  short: number
  stoppedS: number | null
}

function freshEye(rng: Rng): Eye {
  const way = rng() < 0.5 ? -1 : 1
  return {
    way,
    does: way,
    orders: [],
    bestDb: Number.NEGATIVE_INFINITY,
    highDb: Number.NEGATIVE_INFINITY,
    lowDb: Number.POSITIVE_INFINITY,
    rose: false,
    over: false,
    short: 0,
    stoppedS: null,
  }
}

function look(eye: Eye, db: number, near: number, atS: number): void {
  eye.bestDb = Math.max(eye.bestDb, db)
  eye.lowDb = Math.min(eye.lowDb, db)
  if (db > eye.highDb) {
    eye.highDb = db
    eye.rose ||= db - eye.lowDb >= near
  }
  if (eye.over && db >= eye.bestDb - near) {
    eye.stoppedS ??= atS
    return
  }
  eye.stoppedS = null
  if (db > eye.highDb - near) return
  if (eye.over && eye.rose) eye.short += 1
  if (eye.short >= SHORT_RETURNS) Object.assign(eye, { bestDb: eye.highDb, short: 0 })
  eye.over ||= eye.rose
  eye.way = eye.way === 1 ? -1 : 1
  Object.assign(eye, { highDb: db, lowDb: db, rose: false })
}

const SIGMAS = 3
const SHORT_RETURNS = 2
const LOOKS_S = 1.5
const ENOUGH_DB = 0.05
const MOST_ROUNDS = 4
const MOST_S = 900
