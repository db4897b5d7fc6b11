import type { Unit } from '../../quantity/quantity.ts'
import { dbOf, fromDb } from './decibels.ts'
import { guide } from './peak-guide.ts'
import { type Heard, type Jump, jumpIn, jumpStands } from './peak-snap.ts'
import { NO_NUDGING, type NudgeRule, type Nudging, nudgeRule, resumeNudging, watchNudges } from './step-and-wait.ts'

/** How a peak (or a dip) is told from noise, in dB of the quantity as `dbOf` counts them. */
export interface PeakRule {
  /** Fallen this far below the best it is passed over; risen this far over the lowest the direction is proved. */
  readonly overDb: number
  /** Back within this of the best it is at its best. */
  readonly backDb: number
  /** The best leaks at this rate while the set heats, dB/s: droop makes a remembered best slowly untrue. */
  readonly leakDbPerS: number
  /** Usual sigma of one reading, dB. */
  readonly sigmaDb: number
  readonly latencyS: number
  readonly dip: boolean
  readonly unit: Unit
  /** A dip this low, in the unit of the quantity, is as low as the meter can tell; null where there is no such floor. */
  readonly floor: number | null
  /** The meter follows the usual hand; if not, it should turn slowly near the top. */
  readonly quick: boolean
  /** False: the meter is too slow or too noisy to turn and watch at all; nudge, wait, count. */
  readonly continuous: boolean
  readonly nudge: NudgeRule
  /** The meter's display step, in the unit of the quantity at the set; 0 where it is not known. */
  readonly step: number
}

const OVER_DB = 0.2
const OVER_SIGMAS = 6
const BACK_DB = 0.05
const BACK_SIGMAS = 1.5
const BACK_STEPS = 1.1
const LEAK_DB_PER_S = 0.003
/** With less lag than this the hand's own reaction brings it from the return window to the top, s. */
const QUICK_S = 0.4
/** Latency times the usual hand, 0.15 turn/s, must stay below 0.05 turn; in practice half a second. */
const CONTINUOUS_S = 0.5
/** With more noise than this a reading, turning by it leaves jobs far from the top (simulated: 2 % at 0.05 dB, 25 % at 0.1 dB). */
const CONTINUOUS_SIGMA_DB = 0.06
/** Builds the rule: pass-over at least 0.20 dB or 6 sigma, return window at least 0.05 dB or 1.5 sigma. */
export function peakRule(about: {
  readonly sigmaDb: number
  readonly latencyS: number
  readonly dip?: boolean
  /** W (default) and dB count in 10 lg, V and ratios in 20 lg. */
  readonly unit?: Unit
  readonly floor?: number
  /** The meter's display step near the top, dB. */
  readonly stepDb?: number
  /** Or in the unit of the quantity, where the level of the top is not known yet. */
  readonly step?: number
}): PeakRule {
  return {
    overDb: Math.max(OVER_DB, OVER_SIGMAS * about.sigmaDb),
    backDb: Math.max(BACK_DB, BACK_SIGMAS * about.sigmaDb, BACK_STEPS * (about.stepDb ?? 0)),
    leakDbPerS: LEAK_DB_PER_S,
    sigmaDb: about.sigmaDb,
    latencyS: about.latencyS,
    dip: about.dip ?? false,
    unit: about.unit ?? 'W',
    floor: about.floor ?? null,
    quick: about.latencyS <= QUICK_S,
    continuous: about.latencyS <= CONTINUOUS_S && about.sigmaDb <= CONTINUOUS_SIGMA_DB,
    nudge: nudgeRule(about.sigmaDb),
    step: about.step ?? 0,
  }
}

/**
 * - start: no direction yet; climb: turning, not (or no longer) known to fall; wrong way: fell without having risen
 * - passed over: the top was crossed, turn back; return: on the way back to it; at best: within the return window again
 * - snap: a jump with a jump of supply current: instability or a slipped core, not a best
 * - nudge: a nudge is asked for; wait: hands still until the place is read (meters that cannot be turned by)
 */
export type PeakPhase =
  | 'start'
  | 'climb'
  | 'wrong way'
  | 'passed over'
  | 'return'
  | 'at best'
  | 'snap'
  | 'nudge'
  | 'wait'

/** Where the hand is against the best it has found. dB are as good as high: for a dip they count downward. */
export interface PeakWatch {
  readonly phase: PeakPhase
  readonly bestDb: number
  readonly belowDb: number
  readonly fromStartDb: number
  /** This way is up: risen by the pass-over amount over the lowest since the last reversal. */
  readonly proved: boolean
  /** This reading is a better one than any before, by more than its noise. */
  readonly newBest: boolean
  /** Returns that went over the top again without coming near enough to the best. */
  readonly failedReturns: number
  /** What the meter showed at the best, in the unit of the quantity; NaN before the first. */
  readonly bestValue: number
  /** Near the top, with a meter that lags: turn slowly. */
  readonly slowly: boolean
  /**
   * nothing: turned without any effect since the start; stop: risen to where nothing changes any more, as at the end of the
   * travel: a top there is no peak
   */
  readonly flat: 'no' | 'nothing' | 'stop'
  /** A second top, lower or higher than the best, in the unit of the quantity: the core goes through both ends of its coil. Else null. */
  readonly otherTop: number | null
  /** How often it said "turn back"; a page plays each once. */
  readonly turnBacks: number
  readonly memory: PeakMemory
}

/** What the guide remembers between readings. */
export interface PeakMemory {
  /** The newest readings, at most three, for the running median and for jumps. */
  readonly recent: readonly Heard[]
  readonly lastAtS: number | null
  readonly startDb: number
  /** The best last announced. */
  readonly announcedDb: number
  /** dB that heat has taken from the level so far, as reckoned. */
  readonly heatDb: number
  /** The top was crossed at least once. */
  readonly crossed: boolean
  /** The carrier went off while the hand was still on its way: being near the best then proves nothing yet. */
  readonly interrupted: boolean
  readonly leg: Leg
  /** Where a jump came from; null when there is none. */
  readonly snapFrom: (Jump & { readonly phase: PeakPhase }) | null
  readonly nudging: Nudging
  /** The level that has not changed by more than the return window, dB, and since when, s; null where nothing is known. */
  readonly still: { readonly db: number; readonly sinceS: number } | null
}

/** The stretch since the guide last said "turn back", or since the start. */
export interface Leg {
  /** first: nothing known; told: waiting for the hand to turn back; turned: it has. */
  readonly kind: 'first' | 'told' | 'turned'
  readonly lowDb: number
  readonly topDb: number
  /** When "turn back" was said and how low it was then. */
  readonly toldAtS: number
  readonly toldDb: number
}

const NO_LEG: Leg = { kind: 'first', lowDb: Number.NaN, topDb: Number.NaN, toldAtS: 0, toldDb: Number.NaN }

export function startPeak(): PeakWatch {
  return {
    phase: 'start',
    bestDb: Number.NEGATIVE_INFINITY,
    belowDb: 0,
    fromStartDb: 0,
    proved: false,
    newBest: false,
    failedReturns: 0,
    bestValue: Number.NaN,
    slowly: false,
    flat: 'no',
    otherTop: null,
    turnBacks: 0,
    memory: {
      recent: [],
      lastAtS: null,
      startDb: Number.NaN,
      announcedDb: Number.NEGATIVE_INFINITY,
      heatDb: 0,
      crossed: false,
      interrupted: false,
      leg: NO_LEG,
      snapFrom: null,
      nudging: NO_NUDGING,
      still: null,
    },
  }
}

/** A new key-down: the filter is empty and no direction is known, the best stays; what heat took away comes back with rest. */
export function resumePeak(before: PeakWatch): PeakWatch {
  const { memory } = before
  if (memory.nudging.order.number > 0 || memory.nudging.sinceS !== null) return resumeNudged(before)
  const phase = before.phase === 'start' ? 'start' : memory.crossed ? 'return' : 'climb'
  return {
    ...before,
    phase,
    proved: false,
    newBest: false,
    memory: {
      ...memory,
      recent: [],
      leg: NO_LEG,
      snapFrom: null,
      still: null,
      interrupted: memory.interrupted || before.phase !== 'at best',
    },
  }
}

/** A display that steps cannot come nearer to its best than about one step. */
function withStep(rule: PeakRule, value: number): PeakRule {
  if (rule.step === 0) return rule
  const stepDb = rule.unit === 'dB' ? rule.step : dbOf(1 + rule.step / value, rule.unit)
  return BACK_STEPS * stepDb > rule.backDb ? { ...rule, backDb: BACK_STEPS * stepDb } : rule
}

function resumeNudged(before: PeakWatch): PeakWatch {
  const { memory, phase } = before
  const nudging = resumeNudging(memory.nudging)
  const stays = phase === 'at best' || phase === 'nudge'
  return { ...before, phase: stays ? phase : 'wait', newBest: false, memory: { ...memory, nudging } }
}

/** Readings in the running median. */
const FILTER = 3
/** Longer without a reading than this, and than four latencies, is a new key-down even if nobody said so, s. */
const GAP_S = 3
const GAP_LATENCIES = 4
/** Heat leaves the output stage with this time constant (usual for a small set), s. */
const COOLS_S = 60
/** A set warmed through droops no farther than about this, dB. */
const HEAT_MOST_DB = 0.2
/** A best is announced again when it is better by this much, dB, or by one sigma. */
const ANNOUNCE_DB = 0.02

/** One reading further; `value` in the unit of the quantity, `heating` while the transmitter is keyed. */
export function watchPeak(
  before: PeakWatch,
  sample: { readonly atS: number; readonly value: number; readonly amps?: number | null; readonly heating: boolean },
  meter: PeakRule,
): PeakWatch {
  const rule = withStep(meter, sample.value)
  const db = dbOf(sample.value, rule.unit) * (rule.dip ? -1 : 1)
  if (!rule.continuous)
    return Number.isFinite(db) && Number.isFinite(sample.atS)
      ? watchNudges({ ...before, newBest: false }, db, sample.atS, rule)
      : { ...before, newBest: false }
  const { lastAtS } = before.memory
  const passedS = lastAtS === null ? 0 : sample.atS - lastAtS
  if (!Number.isFinite(db) || !Number.isFinite(sample.atS) || passedS < 0) return { ...before, newBest: false }
  if (passedS > Math.max(GAP_S, GAP_LATENCIES * rule.latencyS) && before.memory.recent.length > 0)
    return watchPeak(resumePeak(before), sample, rule)

  const recent = before.memory.recent.slice(1 - FILTER)
  recent.push({ db, amps: sample.amps ?? null })
  const heatDb = heatAfter(before.memory, passedS, sample.heating ? rule.leakDbPerS : 0)
  const bestDb = before.bestDb - (heatDb - before.memory.heatDb)
  const memory = { ...before.memory, recent, lastAtS: sample.atS, heatDb }
  const jump = memory.snapFrom ? null : jumpIn(recent, sample.atS)
  if (memory.snapFrom || jump) return snapped({ ...before, bestDb, newBest: false, memory }, jump, sample.atS)
  if (recent.length < FILTER) return { ...before, bestDb, newBest: false, memory }
  const levelDb = middleOf(recent)
  return guide(takeBest(before, memory, bestDb, levelDb, rule), levelDb, sample.atS, rule)
}

/** The running median of three, without a sort: this is done for every reading. */
function middleOf([a, b, c]: readonly Heard[]): number {
  if (!a || !b || !c) return Number.NaN
  return Math.max(Math.min(a.db, b.db), Math.min(Math.max(a.db, b.db), c.db))
}

/** A jump holds the guide until the level is back; one that stays is a new place, and its direction must be proved. */
function snapped(watch: PeakWatch, jump: Jump | null, atS: number): PeakWatch {
  const { memory } = watch
  const newest = memory.recent.at(-1)
  const belowDb = Math.max(0, watch.bestDb - (newest?.db ?? watch.bestDb))
  const snapFrom = jump ? { ...jump, phase: watch.phase } : memory.snapFrom
  if (!snapFrom || jump) return { ...watch, phase: 'snap', belowDb, slowly: false, memory: { ...memory, snapFrom } }
  const stands = jumpStands(snapFrom, memory.recent, atS)
  if (stands === 'yet') return { ...watch, belowDb }
  const from = { ...watch, phase: snapFrom.phase }
  const after = stands === 'back' ? from : resumePeak(from)
  return { ...after, memory: { ...after.memory, recent: memory.recent.slice(-1), snapFrom: null } }
}

/** Droop makes the best untrue while the set heats, and rest gives it back. */
function heatAfter(memory: PeakMemory, passedS: number, leakDbPerS: number): number {
  if (memory.recent.length === 0) return memory.heatDb * Math.exp(-passedS / COOLS_S)
  return Math.min(HEAT_MOST_DB, memory.heatDb + leakDbPerS * passedS)
}

function takeBest(before: PeakWatch, memory: PeakMemory, oldDb: number, levelDb: number, rule: PeakRule): PeakWatch {
  const first = Number.isNaN(memory.startDb)
  const startDb = first ? levelDb : memory.startDb
  const better = levelDb > oldDb
  const bestDb = better ? levelDb : oldDb
  const newBest = !first && levelDb >= memory.announcedDb + Math.max(ANNOUNCE_DB, rule.sigmaDb)
  // one literal instead of a spread: this runs for every reading
  return {
    phase: before.phase,
    bestDb,
    belowDb: bestDb - levelDb,
    fromStartDb: levelDb - startDb,
    proved: before.proved,
    newBest,
    failedReturns: before.failedReturns,
    bestValue: better ? fromDb(rule.dip ? -levelDb : levelDb, rule.unit) : before.bestValue,
    slowly: before.slowly,
    flat: before.flat,
    otherTop: before.otherTop,
    turnBacks: before.turnBacks,
    memory: first || newBest ? { ...memory, startDb, announcedDb: levelDb } : memory,
  }
}
