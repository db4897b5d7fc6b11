import type { Unit } from '../../quantity/quantity.ts'
import { dbOf, fromDb } from './decibels.ts'
import { guide } from './peak-guide.ts'
import { jumpIn, jumpStands } from './peak-snap.ts'
import { type Heard, type Jump, NO_LEG, type PeakMemory, type PeakRule, type PeakWatch } from './peak-watch.ts'
import { nudgeRule, resumeNudging, watchNudges } from './step-and-wait.ts'

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
