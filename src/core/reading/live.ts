import { type Prefix, prefixFor, printLimit } from '../../quantity/print-value.ts'
import type { MeterFacts, Reading, ReadingState } from '../../schema/kept/reading.ts'
import type { Goal } from '../goal/goal.ts'
import type { Effect } from '../homing/effect.ts'
import { resumeSet, type SetRule, type SetWatch, setRule, startSet, watchSet } from '../homing/set-to.ts'
import { dbOf } from '../peaking/decibels.ts'
import { peakRule, resumePeak, watchPeak } from '../peaking/peak.ts'
import { type PeakRule, type PeakWatch, startPeak } from '../peaking/peak-watch.ts'
import { type SettleRule, settleRule } from '../settling/settle-rule.ts'
import { addToSettling, type SettleState, startSettling } from '../settling/settling.ts'
import { scaleAt } from '../settling/still.ts'
import { median } from '../statistics/median.ts'
import { errorE, halfWidth } from '../uncertainty/band.ts'
import { correct, gainOf } from '../uncertainty/correction.ts'
import { budgetOf, type MeterDoubt, meterDoubt, type Seen } from '../uncertainty/meter-budget.ts'
import { combine } from '../uncertainty/uncertainty.ts'

/** How the readings of one quantity are judged in one step: fixed when the step is opened. */
export interface LiveRule {
  readonly facts: MeterFacts
  readonly goal: Goal
  readonly settle: SettleRule
  readonly peak: PeakRule | null
  /** How a hand is brought to the target; null where nothing is turned to one. */
  readonly set: SetRule | null
  /** Resistance in series with a voltmeter at this point, ohm; 0 for none. */
  readonly seriesOhms: number
  /** What is doubtful of any value of this meter here. */
  readonly doubt: MeterDoubt
  readonly print: PrintRule
}

/** How values of one step are written: the meter's step as it is worth at the set, and one prefix so that the unit does not jump. */
export interface PrintRule {
  readonly step: number
  /** null until a first value says how large it is (a peak). */
  readonly prefix: Prefix | null
  /** Labels of the band's edges, of its aim and of a rule limit, "" where there is none. */
  readonly low: string
  readonly high: string
  readonly aim: string
  readonly wall: string
}

/** The newest reading, corrected to what it means at the set. */
export interface LiveReading {
  readonly reading: Reading
  readonly value: number | null
  readonly parts: readonly number[]
  readonly chain: readonly string[]
  readonly counts: boolean
}

/** What is known of one quantity since the last change. */
export interface Live {
  readonly quantity: Reading['quantity']
  readonly last: LiveReading | null
  /** The newest reading that counts. */
  readonly current: LiveReading | null
  readonly settle: SettleState
  readonly peak: PeakWatch | null
  /** Where the hand is on its way to a target; null where nothing is turned to one. */
  readonly set: SetWatch | null
  /** The peak guide as it stood after each of the newest readings, so that what was read while the key came up can be taken back. */
  readonly earlier: readonly { readonly atMs: number; readonly peak: PeakWatch }[]
  /** The readings that count since the last change, newest last, at most 400: what a captured value is recomputed from. */
  readonly kept: readonly Reading[]
  /** The largest corrected value among them, every part looked at; null without one. */
  readonly highest: number | null
  /** Since when the newest counted readings have all been inside the aim window, bench ms; null when the last one was not. */
  readonly insideSinceMs: number | null
  /** The named state of the newest reading. */
  readonly state: ReadingState
}

const MOST_KEPT = 400
const MOST_EARLIER = 5

/** Builds the rule from what is known of the meter and what is wanted. */
export function liveRule(
  facts: MeterFacts,
  goal: Goal,
  seriesOhms = 0,
  turning: { readonly usual: Effect | null } | null = null,
): LiveRule {
  const sigmaDb = sigmaDbOf(facts)
  return {
    facts,
    goal,
    settle: settleRule({ facts, halfWidth: goal.kind === 'peak' ? null : halfWidth(goal.band) }),
    peak:
      goal.kind === 'peak'
        ? peakRule({
            sigmaDb,
            latencyS: facts.latencyMs / 1000,
            dip: goal.dip,
            unit: facts.unit,
            step: facts.step * gainOf(facts),
          })
        : null,
    set: turning ? setRuleOf(facts, goal, turning.usual) : null,
    seriesOhms,
    doubt: meterDoubt(facts, { seriesOhms }),
    print: printRule(facts, goal),
  }
}

/** An aim window that is open on one side has no middle to be brought to. */
function setRuleOf(facts: MeterFacts, goal: Goal, usual: Effect | null): SetRule | null {
  if (goal.kind === 'peak' || !Number.isFinite(goal.aimLow) || !Number.isFinite(goal.aimHigh)) return null
  const { aimLow, aimHigh } = goal
  const gain = gainOf(facts)
  return setRule({
    aimLow,
    aimHigh,
    sigma: Math.hypot(facts.noise.ofReading * ((aimLow + aimHigh) / 2), facts.noise.floor * gain),
    step: facts.step * gain,
    latencyS: facts.latencyMs / 1000,
    everyS: facts.everyMs / 1000,
    usual,
  })
}

function printRule(facts: MeterFacts, goal: Goal): PrintRule {
  const step = facts.step * gainOf(facts)
  if (goal.kind === 'peak') return { step, prefix: null, low: '', high: '', aim: '', wall: '' }
  const { band, rule } = goal
  const near = band.aim ?? band.high ?? band.low
  const prefix = near === null || near <= 0 ? null : prefixFor(near, facts.unit, step)
  const label = (value: number | null | undefined) =>
    value == null ? '' : printLimit(value, facts.unit, step, prefix ?? undefined)
  return {
    step,
    prefix,
    low: label(band.low),
    high: label(band.high),
    aim: label(band.aim),
    wall: label(rule?.high ?? rule?.low),
  }
}

/** Usual sigma of one reading, dB: of a power 10 lg, of an amplitude or ratio 20 lg, of a level that is in dB its floor. */
export function sigmaDbOf(facts: MeterFacts): number {
  return facts.unit === 'dB' ? facts.noise.floor : dbOf(1 + facts.noise.ofReading, facts.unit)
}

export function startLive(rule: LiveRule): Live {
  return {
    quantity: rule.facts.quantity,
    last: null,
    current: null,
    settle: startSettling(),
    peak: rule.peak ? startPeak() : null,
    set: rule.set ? startSet() : null,
    earlier: [],
    kept: [],
    highest: null,
    insideSinceMs: null,
    state: 'good',
  }
}

/** A key that comes up is seen a look of the supply later; what was read in that time saw the power fall. */
const BLURRED_MS = 600

/** After a change nothing read before counts; a peak keeps its best through key-ups, less what was read in the last 0.6 s. */
export function restartLive(before: Live, nowMs: number): Live {
  const nudged = before.peak && before.peak.memory.nudging.order.number > 0 ? before.peak : null
  const sharp =
    nudged ??
    before.earlier.findLast(({ atMs }) => atMs <= nowMs - BLURRED_MS)?.peak ??
    before.earlier[0]?.peak ??
    before.peak
  return {
    ...before,
    current: null,
    settle: startSettling(),
    peak: sharp ? resumePeak(sharp) : null,
    set: before.set ? resumeSet(before.set) : null,
    earlier: [],
    kept: [],
    highest: null,
    insideSinceMs: null,
  }
}

/** The same without what was read in the last 0.6 s, where that fell with the key: it came up before it was seen to. */
export function beforeRelease(before: Live, rule: LiveRule, nowMs: number): Live {
  const isSharp = ({ arrivedMs }: Reading) => rule.facts.typed || arrivedMs <= nowMs - BLURRED_MS
  const sharp = before.kept.filter(isSharp)
  const valuesOf = (readings: readonly Reading[]) => readings.flatMap((one) => correctReading(one, rule).value ?? [])
  const level = median(valuesOf(sharp.slice(-3)))
  const { delta } = scaleAt(rule.settle, level)
  // less than what matters has not fallen; without a level there is nothing to have fallen from
  if (!valuesOf(before.kept.slice(sharp.length)).some((value) => Math.abs(value - level) > delta)) return before
  const around = { counts: true, amps: null, heating: true }
  const again = sharp.reduce((so, one) => addReading(so, one, rule, around), startLive(rule))
  return { ...again, last: before.last, state: before.state }
}

/** One reading further. `counts`: it began after the last change and its hold-off. */
export function addReading(
  before: Live,
  reading: Reading,
  rule: LiveRule,
  around: { readonly counts: boolean; readonly amps: number | null; readonly heating: boolean },
): Live {
  const { value, parts, chain } = correctReading(reading, rule)
  const last: LiveReading = { reading, value, parts, chain, counts: around.counts }
  if (!around.counts || last.value === null) return { ...before, last, state: reading.state }
  const atS = reading.arrivedMs / 1000
  const inside = isInsideAim(last, rule.goal)
  const peak =
    before.peak && rule.peak
      ? watchPeak(before.peak, { atS, value: last.value, amps: around.amps, heating: around.heating }, rule.peak)
      : null
  return {
    quantity: before.quantity,
    last,
    current: last,
    state: reading.state,
    settle: addToSettling(before.settle, { atS, value: last.value }, rule.settle),
    peak,
    set: before.set && rule.set ? watchSet(before.set, { atS, value: last.value }, rule.set) : null,
    earlier: peak ? followedBy(before.earlier, { atMs: reading.arrivedMs, peak }, MOST_EARLIER) : [],
    kept: followedBy(before.kept, reading, MOST_KEPT),
    highest: highestOf(before.highest ?? last.value, last.value, last.parts),
    insideSinceMs: inside ? (before.insideSinceMs ?? reading.arrivedMs) : null,
  }
}

/** The newest `most` of them, `last` at the end; a spread would copy them twice, and this is done for every reading. */
function followedBy<T>(before: readonly T[], last: T, most: number): readonly T[] {
  const after = before.slice(1 - most)
  after.push(last)
  return after
}

/** The largest of a reading and its parts and of what was seen before, at the set. */
export function highestOf(before: number, value: number, parts: readonly number[]): number {
  let highest = Math.max(before, value)
  for (const part of parts) highest = Math.max(highest, part)
  return highest
}

/** A reading at the set, its parts too; null for no number. */
export function correctReading(reading: Reading, rule: LiveRule): Pick<LiveReading, 'value' | 'parts' | 'chain'> {
  if (reading.value === null) return { value: null, parts: [], chain: [] }
  const conditions = { seriesOhms: rule.seriesOhms }
  const { value, chain } = correct(reading.value, rule.facts, conditions)
  const parts = (reading.parts ?? []).map((part) => correct(part, rule.facts, conditions).value)
  const finite = [value, ...parts].every(Number.isFinite)
  return finite ? { value, parts, chain } : { value: null, parts: [], chain: [] } // 1e308 W at the meter is more than can be said at the set
}

/** Every part of the reading inside the aim window; for several parts (both peaks) the larger inside it and all inside the band. */
export function isInsideAim(live: LiveReading, goal: Goal): boolean {
  if (goal.kind === 'peak' || live.value === null) return false
  const { low, high } = goal.band
  const within = live.value >= goal.aimLow && live.value <= goal.aimHigh
  return within && live.parts.every((part) => (low === null || part >= low) && (high === null || part <= high))
}

/** e of the newest counted value; null without one or for a peak. */
export function errorOf(live: Live, rule: LiveRule): number | null {
  if (rule.goal.kind === 'peak' || live.current?.value == null) return null
  return errorE(live.current.value, rule.goal.band)
}

/**
 * Expanded uncertainty (95.45 %) of what would be captured now, in its unit: of the settled mean, of a single reading while it is
 * not settled; 0 without a reading.
 */
export function doubtOf(live: Live, rule: LiveRule): number {
  const { current, settle } = live
  if (current?.value == null) return 0
  const settled = settle.verdict === 'settled' && !rule.facts.typed
  const { value, count, spread } = settled ? settle : { value: current.value, count: 1, spread: 0 }
  return expandedOf({ value, count, spread, from: settled ? 'line' : 'one reading' }, rule)
}

/** Expanded uncertainty (95.45 %) of a value made from readings by this rule's meter, in its unit. */
export function expandedOf(seen: Seen, rule: LiveRule): number {
  return combine(budgetOf(rule.doubt, seen)).expanded
}

/** How old the newest reading is, and from when on it is old: three normal intervals, at least 2 s. */
export function ageOf(
  live: Live,
  facts: MeterFacts,
  nowMs: number,
): { readonly ageMs: number; readonly oldAfterMs: number } {
  const oldAfterMs = Math.max(2000, 3 * Math.max(facts.everyMs, facts.latencyMs))
  return { ageMs: live.last ? nowMs - live.last.reading.arrivedMs : Number.POSITIVE_INFINITY, oldAfterMs }
}
