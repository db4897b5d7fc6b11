import { type KeyBudget, restLeftS, runKeyClock, startKeyClock } from '../../../src/core/job/state/key-down.ts'
import { peakRule, resumePeak, watchPeak } from '../../../src/core/peaking/peak.ts'
import { type PeakRule, type PeakWatch, startPeak } from '../../../src/core/peaking/peak-watch.ts'
import { adjusterDone, ROUND_RULE, startRounds } from '../../../src/core/peaking/rounds.ts'
import { nudgeS } from '../../../src/core/peaking/step-and-wait.ts'
import type { Rng } from '../../../src/system/rng.ts'
import { type HandWorld, jobOf, liveOn, meterSays, type PeakJob, startBody, TICK_S, turnSlug } from './peak-body.ts'
import { TOP_WATTS } from './two-slugs.ts'

/** A nudge is meant to be a tenth of a turn; this hand makes it so well, relative. */
const NUDGE_TURNS = 0.1
const NUDGE_ERROR = 0.2
/** At best for this long the tool comes out. */
const HOLD_S = 1.2
/** From a wish of the guide to the key, s. */
const KEY_S = 0.5
const MOST_S = 3000

/** A job in nudges: also the carrier time it took, and the longest single key-down, s. */
export interface NudgeJob extends PeakJob {
  readonly keyedS: number
  readonly longestKeyS: number
}

/**
 * Two slugs in rounds by a hand that nudges when it is told and else keeps still. With a `budget` the key is down only while
 * a place is read, and rests as the budget says; without, the carrier stays on.
 */
export function nudgeTwoSlugs(
  start: readonly [number, number],
  world: HandWorld,
  rng: Rng,
  budget: KeyBudget | null = null,
): NudgeJob {
  const stepDb = (10 * world.stepWatts) / TOP_WATTS / Math.LN10
  const rule: PeakRule = peakRule({ sigmaDb: world.sigmaDb, latencyS: world.lagS, stepDb })
  const body = startBody(start, world)
  const plan: KeyBudget = budget ?? { atMostS: Number.POSITIVE_INFINITY, restS: 0 }
  let clock = startKeyClock(0)
  let rounds = startRounds(['DK', 'OK'], ROUND_RULE)
  let watch: PeakWatch = startPeak()
  let way = rng() < 0.5 ? -1 : 1
  let obeyed = 0
  let left = 0
  let movesAtS = Number.POSITIVE_INFINITY
  let bestSinceS: number | null = null
  let keyAtS = 0
  let upFor = 0
  let longestKeyS = 0
  for (let tick = 0; tick * TICK_S < MOST_S; tick++) {
    const atS = tick * TICK_S
    const newOrder = watch.phase === 'nudge' && watch.memory.nudging.order.number !== upFor
    const keyed = budget === null || wantsKey(clock.keyed, newOrder, clock.used, restLeftS(clock, plan), atS >= keyAtS)
    if (clock.keyed && !keyed) upFor = watch.memory.nudging.order.number
    if (keyed !== clock.keyed) keyAtS = atS + nudgeS(watch.memory.nudging.order) + KEY_S
    if (clock.keyed) longestKeyS = Math.max(longestKeyS, atS - clock.sinceMs / 1000)
    clock = runKeyClock(clock, atS * 1000, keyed, plan)
    if (liveOn(body, atS, keyed) === 'keyed') watch = resumePeak(watch)
    const { order } = watch.memory.nudging
    if (order.number > obeyed) {
      obeyed = order.number
      if (order.back) way = -way
      left = order.size * NUDGE_TURNS * (1 + NUDGE_ERROR * (2 * rng() - 1))
      movesAtS = atS + world.reactionS
    }
    if (atS >= movesAtS && left > 0) {
      const by = Math.min(left, world.turnsPerS * TICK_S)
      left -= by
      turnSlug(body, rounds.next === 'DK' ? 0 : 1, way * by)
    }
    if (!keyed) continue
    const watts = meterSays(body, atS, rng)
    if (watts !== null) watch = watchPeak(watch, { atS, value: watts, heating: true }, rule)
    bestSinceS = watch.phase === 'at best' ? (bestSinceS ?? atS) : null
    if (bestSinceS === null || atS - bestSinceS < HOLD_S) continue
    rounds = adjusterDone(rounds, 10 * Math.log10(watch.bestValue), watch.fromStartDb)
    if (rounds.done) return { ...jobOf(body, atS, rounds), keyedS: clock.totalS, longestKeyS }
    watch = startPeak()
    obeyed = 0
    upFor = 0
    bestSinceS = null
    way = rng() < 0.5 ? -1 : 1
    body.way = 0
  }
  return { ...jobOf(body, MOST_S, rounds), keyedS: clock.totalS, longestKeyS }
}

/** Down while a place is to be read and the budget allows it, up for the nudge. */
function wantsKey(keyed: boolean, newOrder: boolean, used: number, restS: number, ready: boolean): boolean {
  if (keyed) return !newOrder && used < 1
  return ready && restS <= 0
}
