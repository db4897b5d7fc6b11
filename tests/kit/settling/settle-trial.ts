import type { SettleRule } from '../../../src/core/settling/settle-rule.ts'
import { addToSettling, startSettling } from '../../../src/core/settling/settling.ts'
import { seededRng } from '../../../src/system/rng.ts'
import {
  FAMILIES,
  type Family,
  HOLDS_S,
  isFalse,
  METERS,
  type Meter,
  RECORD_S,
  recordOf,
  type TrueRecord,
} from './settle-families.ts'

/** The first value that a test declares stable, and when; null when it never does. After a touch: the first that it stands by when it has had a second to notice. */
export type Declare = (record: TrueRecord, meter: Meter) => { readonly atS: number; readonly value: number } | null

/** A test may need so long to notice that something was touched, s. */
const NOTICES_S = 1

/** From when on a declaration is judged, s. */
export function judgedFromS({ touchedS }: TrueRecord): number {
  return touchedS === null ? 0 : touchedS + NOTICES_S
}

/** The rule that the settling test gets for a meter of the families; delta is 1. */
export function ruleFor(meter: Meter, changes: Partial<SettleRule> = {}): SettleRule {
  return {
    delta: 1,
    deltaOfReading: 0,
    trueForS: HOLDS_S,
    sigma: meter.sigma,
    sigmaOfReading: 0,
    step: meter.step,
    smoothing: meter.smoothing,
    everyS: meter.everyS,
    latencyS: Math.max(0.3, meter.lagS ?? 0),
    ...changes,
  }
}

/** The product's own test. `changes`: what the driver states wrongly about its meter. */
export function bySettling(changes: (meter: Meter) => Partial<SettleRule> = () => ({})): Declare {
  return (record, meter) => {
    const rule = ruleFor(meter, changes(meter))
    let state = startSettling()
    for (const sample of record.samples) {
      state = addToSettling(state, sample, rule)
      if (state.verdict === 'settled' && sample.atS >= judgedFromS(record))
        return { atS: sample.atS, value: state.value }
    }
    return null
  }
}

/** The popular test: the last 2.5 s inside one delta, for a second on end. */
export const byRange: Declare = rangeWithin(1)

/** The same with another range than one delta. */
export function rangeWithin(range: number): Declare {
  return (record) => {
    const { samples } = record
    let sinceS: number | null = null
    let from = 0
    for (const [index, { atS }] of samples.entries()) {
      while ((samples[from]?.atS ?? atS) < atS - 2.5) from += 1
      const seen = samples.slice(from, index + 1).map((one) => one.value)
      const narrow = atS - (samples[0]?.atS ?? 0) >= 2.25 && Math.max(...seen) - Math.min(...seen) <= range
      sinceS = narrow ? (sinceS ?? atS) : null
      if (sinceS !== null && atS - sinceS >= 1 && atS >= judgedFromS(record))
        return { atS, value: seen.reduce((sum, value) => sum + value, 0) / seen.length }
    }
    return null
  }
}

export interface Tally {
  readonly declared: number
  readonly false: number
  /** Records whose truth was still for `MISSED_AFTER_S`, and those of them without a declaration by then. */
  readonly still: number
  readonly missed: number
  readonly delaysS: readonly number[]
}

/** A truth still for this long without a declaration is missed, s. */
const MISSED_AFTER_S = 14

/** `each` seeded records of one family by one meter. */
export function recordsOf(family: Family, meter: Meter, each: number, seed: number): readonly TrueRecord[] {
  const rng = seededRng(seed * 1000 + FAMILIES.indexOf(family) * 17 + METERS.indexOf(meter) * 131)
  return Array.from({ length: each }, () => recordOf(family, meter, rng))
}

/** Runs `each` seeded records of one family through a test. */
export function tryFamily(family: Family, meter: Meter, declare: Declare, each: number, seed: number): Tally {
  return tryRecords(recordsOf(family, meter, each, seed), meter, declare)
}

/** Runs records through a test. */
export function tryRecords(records: readonly TrueRecord[], meter: Meter, declare: Declare): Tally {
  return sum(records.map((record) => tallyOf(record, meter, declare)))
}

/** What became of one record. */
export function tallyOf(record: TrueRecord, meter: Meter, declare: Declare): Tally {
  const said = declare(record, meter)
  const wrong = said !== null && isFalse(record, said.atS, said.value)
  const { stillFromS } = record
  // nobody can settle on readings that do not come
  const showsFromS = stillFromS === null ? null : Math.max(stillFromS, record.againFromS ?? 0)
  // a record declared too early has had its one chance: it counts as false, not as missed too
  const still = showsFromS !== null && showsFromS + MISSED_AFTER_S <= RECORD_S && !wrong
  const late = showsFromS !== null && (said === null || said.atS > showsFromS + MISSED_AFTER_S)
  return {
    declared: said ? 1 : 0,
    false: wrong ? 1 : 0,
    still: still ? 1 : 0,
    missed: still && late ? 1 : 0,
    delaysS: said && !wrong && stillFromS !== null ? [Math.max(0, said.atS - stillFromS)] : [],
  }
}

export function sum(tallies: readonly Tally[]): Tally {
  const total = (pick: (tally: Tally) => number) => tallies.reduce((so, tally) => so + pick(tally), 0)
  return {
    declared: total((tally) => tally.declared),
    false: total((tally) => tally.false),
    still: total((tally) => tally.still),
    missed: total((tally) => tally.missed),
    delaysS: tallies.flatMap((tally) => tally.delaysS),
  }
}

/** Percentage of `of`; 0 of nothing. */
export function percent(part: number, of: number): number {
  return of === 0 ? 0 : (100 * part) / of
}

/** The value below which `share` of the values lie; NaN for none. */
export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))] ?? Number.NaN
}
