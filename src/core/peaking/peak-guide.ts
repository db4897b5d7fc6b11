import { fromDb } from './decibels.ts'
import type { Leg, PeakPhase, PeakRule, PeakWatch } from './peak-watch.ts'

/** Within this many meter floors a dip is as low as it can be shown. */
const FLOORS = 1.2
const FAILED_RETURNS = 2
/** "Turn back" is said again when it has been falling on by this many pass-overs for this long, s. */
const AGAIN_OVERS = 2
const AGAIN_S = 2

/** What the hand should do now that the filtered level is `levelDb`. */
export function guide(watch: PeakWatch, levelDb: number, atS: number, rule: PeakRule): PeakWatch {
  const begun = Number.isNaN(watch.memory.leg.lowDb) ? beginLeg(watch, levelDb) : watch
  const known = noteFlat(begun, levelDb, atS, rule)
  if (rule.dip && rule.floor !== null && fromDb(-levelDb, rule.unit) <= FLOORS * rule.floor)
    return { ...known, phase: 'at best', slowly: false }
  switch (known.phase) {
    case 'start':
    case 'climb':
    case 'return':
      return turning(known, levelDb, atS, rule)
    case 'wrong way':
    case 'passed over':
      return waiting(known, levelDb, atS, rule)
    case 'at best': {
      const leavesDb = Math.max(2 * rule.backDb, rule.backDb + 2 * rule.sigmaDb)
      // turned on and fallen: whoever was asked about a stop has answered
      return known.belowDb > leavesDb ? turnBack({ ...known, flat: 'no' }, 'passed over', levelDb, atS) : known
    }
    case 'snap':
    case 'nudge':
    case 'wait':
      return known
    default:
      return known.phase satisfies never
  }
}

/** So long without any change although turning is asked for, s beyond the latency: nothing happens at all, or no more. */
const NOTHING_S = 10
const STOP_S = 6

/** Whether the level has stopped changing while the hand should be turning one way. */
function noteFlat(watch: PeakWatch, levelDb: number, atS: number, rule: PeakRule): PeakWatch {
  const { still } = watch.memory
  const turns = watch.phase === 'start' || watch.phase === 'climb'
  if (!turns) return still === null ? watch : { ...watch, memory: { ...watch.memory, still: null } }
  if (still === null || Math.abs(levelDb - still.db) > Math.max(rule.backDb, 2 * rule.sigmaDb)) {
    const moved = { ...watch.memory, still: { db: levelDb, sinceS: atS } }
    // a stop that the core has left downward is still one; upward it was none
    const stays = still === null || (watch.flat === 'stop' && levelDb < still.db)
    return { ...watch, flat: stays ? watch.flat : 'no', memory: moved }
  }
  const stillS = atS - still.sinceS - rule.latencyS
  if (watch.proved && stillS >= STOP_S && watch.belowDb <= rule.backDb) return { ...watch, flat: 'stop' }
  return !watch.proved && !watch.memory.crossed && stillS >= NOTHING_S ? { ...watch, flat: 'nothing' } : watch
}

function beginLeg(watch: PeakWatch, levelDb: number): PeakWatch {
  const leg = { ...watch.memory.leg, lowDb: levelDb, topDb: levelDb }
  return { ...watch, memory: { ...watch.memory, leg } }
}

/** The hand turns one way: up to a top, over it, or down from the start. */
function turning(watch: PeakWatch, levelDb: number, atS: number, rule: PeakRule): PeakWatch {
  const { leg, crossed } = watch.memory
  const lowDb = Math.min(leg.lowDb, levelDb)
  const topDb = Math.max(leg.topDb, levelDb)
  const proved = watch.proved || levelDb - lowDb >= rule.overDb
  const nearDb = watch.bestDb - rule.backDb
  const same = lowDb === leg.lowDb && topDb === leg.topDb
  const memory = same ? watch.memory : { ...watch.memory, leg: { ...leg, lowDb, topDb } }
  const arrives = leg.kind === 'turned' || !memory.interrupted || lowDb < nearDb
  if (crossed && arrives && levelDb >= nearDb) {
    const arrived = { ...memory, interrupted: false }
    return { ...watch, proved, phase: 'at best', slowly: false, failedReturns: 0, memory: arrived }
  }
  if (topDb - levelDb < rule.overDb) {
    const phase = watch.phase === 'start' && levelDb - lowDb >= rule.backDb ? 'climb' : watch.phase
    return { ...watch, proved, phase, slowly: crossed && !rule.quick && watch.belowDb < 2 * rule.overDb, memory }
  }
  const wasProved = watch.proved
  if (watch.phase === 'return' && (leg.kind === 'turned' || wasProved))
    return failedReturn(watch, topDb, levelDb, atS, rule)
  // coming up from the wrong side to the best and falling again is a crossing too, even where the best is the start itself
  const wasAtTop = leg.kind === 'turned' && topDb >= nearDb
  const over = wasProved || wasAtTop
  return turnBack(watch, over ? 'passed over' : 'wrong way', levelDb, atS)
}

/** Lower than the best by so many pass-overs. */
const OTHER_OVERS = 2.5

function shownAt(db: number, rule: PeakRule): number {
  return fromDb(rule.dip ? -db : db, rule.unit)
}

/** It went over the top again below the return window: droop or noise has made the best untrue, and after two it is forgotten. */
function failedReturn(watch: PeakWatch, topDb: number, levelDb: number, atS: number, rule: PeakRule): PeakWatch {
  // a top this much lower is no failed return but another top: the core goes through both ends of its coil
  if (watch.bestDb - topDb >= OTHER_OVERS * rule.overDb)
    return turnBack({ ...watch, otherTop: shownAt(topDb, rule) }, 'passed over', levelDb, atS)
  const failedReturns = watch.failedReturns + 1
  const told = turnBack({ ...watch, failedReturns }, 'passed over', levelDb, atS)
  if (failedReturns < FAILED_RETURNS) return told
  const memory = { ...told.memory, announcedDb: topDb }
  return {
    ...told,
    bestDb: topDb,
    bestValue: shownAt(topDb, rule),
    belowDb: topDb - levelDb,
    failedReturns: 0,
    memory,
  }
}

/** "Turn back" was said; until the reading rises again the hand has not done it. */
function waiting(watch: PeakWatch, levelDb: number, atS: number, rule: PeakRule): PeakWatch {
  const { leg, crossed } = watch.memory
  const lowDb = Math.min(leg.lowDb, levelDb)
  if (levelDb - lowDb >= rule.backDb) {
    const turned: Leg = { ...leg, kind: 'turned', lowDb, topDb: levelDb }
    return turning(
      { ...watch, phase: crossed ? 'return' : 'climb', memory: { ...watch.memory, leg: turned } },
      levelDb,
      atS,
      rule,
    )
  }
  const fallsOn = levelDb <= leg.toldDb - AGAIN_OVERS * rule.overDb && atS - leg.toldAtS >= AGAIN_S
  if (fallsOn) return turnBack(watch, watch.phase, levelDb, atS)
  return { ...watch, memory: { ...watch.memory, leg: { ...leg, lowDb } } }
}

function turnBack(watch: PeakWatch, phase: PeakPhase, levelDb: number, atS: number): PeakWatch {
  const leg: Leg = { kind: 'told', lowDb: levelDb, topDb: levelDb, toldAtS: atS, toldDb: levelDb }
  const crossed = watch.memory.crossed || phase === 'passed over'
  return {
    ...watch,
    phase,
    proved: false,
    slowly: false,
    turnBacks: watch.turnBacks + 1,
    memory: { ...watch.memory, crossed, leg },
  }
}
