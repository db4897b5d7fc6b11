import type { Evidence, KeptGoal, KeptReading } from '../../schema/kept/evidence.ts'
import type { MeterFacts, Reading } from '../../schema/kept/reading.ts'
import type { Goal } from '../goal/goal.ts'
import { codeOf, NEWEST, UNNAMED, type Versions, versionsIn } from './algorithms.ts'
import { type Figures, figuresBy, type HowCaptured } from './capture.ts'
import { correctReading, highestOf, type Live, type LiveRule, liveRule } from './live.ts'

/** What a captured value is recomputed from, taken from the readings that counted. */
export function evidenceOf(
  live: Live,
  rule: LiveRule,
  how: HowCaptured & { readonly technique: Evidence['technique']; readonly conditions: Evidence['conditions'] },
): Evidence {
  const { slope, samples } = live.settle
  // where the largest seen is wanted, no reading is a spike
  const spikes = how.highest ? NONE_ASIDE : new Set(samples.flatMap(({ aside, atS }) => (aside ? [atS] : [])))
  return {
    facts: rule.facts,
    seriesOhms: rule.seriesOhms,
    goal: keptGoal(rule.goal),
    judgedAgainst: how.judged ? keptGoal(how.judged) : null,
    decision: how.decision,
    technique: how.technique,
    readings: live.kept.flatMap((one) => keptReading(one, spikes)),
    correction: [...(live.current?.chain ?? [])],
    slope: Number.isFinite(slope) ? slope : null,
    replaced: spikes.size,
    conditions: how.conditions,
    algorithms: NEWEST,
  }
}

/** The versions that a value was captured by; where its evidence names none, each that it may have been, latest first. Throws TypeError for one that is not known. */
export function versionsOf({ algorithms }: Evidence): readonly Versions[] {
  return algorithms === undefined ? UNNAMED : [versionsIn(algorithms)]
}

/** A capture worked out again. */
export interface WorkedOut {
  /** null when the readings are too few. */
  readonly figures: Figures | null
  /** Which of the readings, from 0, are spikes that count for nothing; none where the version marks none. */
  readonly spikes: readonly number[]
}

/** The figures of a capture worked out again from its evidence alone; null when the readings are too few. */
export function recompute(evidence: Evidence, readings: readonly KeptReading[] = evidence.readings): Figures | null {
  return workedOut(evidence, readings).figures
}

/** The same with what is a spike; `readings` where the raw replies were read anew, by the versions that it was captured by unless others are given. */
export function workedOut(
  evidence: Evidence,
  readings: readonly KeptReading[] = evidence.readings,
  versions: Versions = versionsOf(evidence)[0] ?? NEWEST,
): WorkedOut {
  const { facts } = evidence
  const code = codeOf(versions)
  const rule = liveRule(facts, goalFrom(evidence.goal), evidence.seriesOhms)
  const counted = readings.map((one) => {
    const reading = readingFrom(one, facts)
    return { reading, ...correctReading(reading, rule) }
  })
  const series = counted.flatMap(({ reading, value }) =>
    value === null ? [] : [{ atS: reading.arrivedMs / 1000, value }],
  )
  const highest = counted.reduce<number | null>(
    (so, { value, parts }) => (value === null ? so : highestOf(so ?? value, value, parts)),
    null,
  )
  const newest = counted.at(-1)
  const seen = {
    rested: code.rests(series, rule.settle),
    current: newest ? { ...newest, counts: true } : null,
    highest,
  }
  const judged = evidence.judgedAgainst ? { judged: goalFrom(evidence.judgedAgainst) } : {}
  const isHighest = evidence.technique === 'highest'
  const aside = new Set(isHighest ? [] : seen.rested.aside)
  const spikes = readings.flatMap(({ arrivedMs }, at) => (aside.has(arrivedMs / 1000) ? [at] : []))
  const figures = figuresBy(code, seen, rule, {
    highest: isHighest,
    decision: evidence.decision,
    ...judged,
  })
  return { figures, spikes }
}

const NONE_ASIDE: ReadonlySet<number> = new Set()

function keptReading(reading: Reading, spikes: ReadonlySet<number>): KeptReading[] {
  const { raw, beganMs, arrivedMs, epoch, value, parts } = reading
  if (value === null) return []
  const rare = {
    ...(parts ? { parts: [...parts] } : {}),
    ...(spikes.has(arrivedMs / 1000) ? { spike: true as const } : {}),
  }
  return [{ raw, beganMs, arrivedMs, epoch, value, ...rare }]
}

function readingFrom(kept: KeptReading, facts: MeterFacts): Reading {
  const { raw, beganMs, arrivedMs, epoch, value, parts } = kept
  const { quantity, instrument } = facts
  return { quantity, instrument, epoch, beganMs, arrivedMs, raw, value, state: 'good', ...(parts ? { parts } : {}) }
}

const finite = (value: number) => (Number.isFinite(value) ? value : null)

/** A goal as it is kept: an open edge is null. */
export function keptGoal(goal: Goal): KeptGoal {
  if (goal.kind === 'peak') return goal
  const { band, aimLow, aimHigh, rule } = goal
  return {
    kind: 'band',
    low: band.low,
    high: band.high,
    aim: band.aim,
    aimLow: finite(aimLow),
    aimHigh: finite(aimHigh),
    ruleLow: rule?.low ?? null,
    ruleHigh: rule?.high ?? null,
  }
}

function goalFrom(kept: KeptGoal): Goal {
  if (kept.kind === 'peak') return kept
  const { low, high, aim, aimLow, aimHigh, ruleLow, ruleHigh } = kept
  return {
    kind: 'band',
    band: { low, high, aim },
    aimLow: aimLow ?? Number.NEGATIVE_INFINITY,
    aimHigh: aimHigh ?? Number.POSITIVE_INFINITY,
    rule: ruleLow === null && ruleHigh === null ? null : { low: ruleLow, high: ruleHigh },
  }
}
