import { printTarget, printValue } from '../quantity/print-value.ts'
import type { Evidence } from '../schema/evidence.ts'
import type { Captured } from '../schema/live-frame.ts'
import { judge, judgeParts } from './band.ts'
import { MADE_FROM } from './captured-budget.ts'
import { type DecisionRule, decide, type Judged } from './decision.ts'
import { DRIFT_AHEAD_S, type Drifting, driftingIn } from './drifting.ts'
import type { Goal } from './goal.ts'
import { expandedOf, type Live, type LiveRule } from './live.ts'
import { short } from './settling.ts'

/** A captured value with everything that it and its verdict can be recomputed from. */
export type Kept = Captured & { readonly evidence: Evidence }

/** What a capture says of one quantity, before it is written down. */
export type Figures = Pick<
  Captured,
  | 'value'
  | 'digits'
  | 'unit'
  | 'band'
  | 'verdict'
  | 'label'
  | 'count'
  | 'mean'
  | 'spread'
  | 'windowS'
  | 'slope'
  | 'uncertainty'
  | 'answer'
  | 'limit'
  | 'accepted'
>

/** How a value is come by: `judged` where the verdict is not given against the rule's own goal; `highest`: the largest seen is wanted. */
export interface HowCaptured {
  readonly judged?: Goal
  readonly highest: boolean
  /** How it is accepted, chosen before measuring. */
  readonly decision: DecisionRule
}

/**
 * The figures of one quantity from the readings that count; null while there are too few: one typed by a person, else three.
 * The same code recomputes them from a record.
 */
export function figuresOf(live: Live, rule: LiveRule, how: HowCaptured): Figures | null {
  const found = rule.facts.typed ? typedOf(live) : how.highest ? highestOf(live) : restOf(live, rule)
  if (!found) return null
  const goal = how.judged ?? rule.goal
  const shownStep = rule.print.step
  const isPeak = rule.goal.kind === 'peak' && (found.label === 'settled' || found.label === 'short')
  const label = isPeak ? 'peaked' : found.label
  const uncertainty = expandedOf({ ...found, from: MADE_FROM[label] }, rule)
  return {
    ...found,
    label,
    ...printValue(found.value, rule.facts.unit, shownStep),
    band: bandWords(goal, rule, shownStep),
    verdict: verdictOf(found.value, live, goal, how.highest),
    uncertainty,
    ...decided({ value: found.value, parts: partsOf(live, how.highest), uncertainty }, goal, how.decision),
  }
}

/** Tolerance band and rule limit are judged apart and never merged; a value is accepted where both allow it. A bare peak has neither. */
function decided(judged: Judged, goal: Goal, rule: DecisionRule): Pick<Captured, 'answer' | 'limit' | 'accepted'> {
  if (goal.kind === 'peak') return { answer: null, limit: null, accepted: true }
  const band = decide(rule, judged, goal.band)
  const limit = goal.rule ? decide(rule, judged, { ...goal.rule, aim: null }) : null
  return {
    answer: band.answer,
    limit: limit?.answer ?? null,
    accepted: band.accepted && (limit === null || limit.accepted),
  }
}

type Found = Pick<Captured, 'value' | 'label' | 'count' | 'mean' | 'spread' | 'windowS' | 'slope'>

function typedOf(live: Live): Found | null {
  const value = live.current?.value
  return value == null ? null : { value, label: 'typed', count: 1, mean: value, spread: 0, windowS: 0 }
}

function highestOf(live: Live): Found | null {
  const brief = short(live.settle)
  if (!brief || live.highest === null) return null
  const { count, mean, spread, windowS } = brief
  return { value: live.highest, label: 'highest', count, mean, spread, windowS }
}

/** What is not at rest, but moves so evenly and slowly that it stays in its band for 15 s; null where it does not, and for a peak. */
export function driftOf({ settle }: Live, { goal, settle: rule }: LiveRule): Drifting | null {
  return goal.kind === 'peak' ? null : driftingIn(settle, rule, goal.band, DRIFT_AHEAD_S)
}

function restOf(live: Live, rule: LiveRule): Found | null {
  const { settle } = live
  if (settle.verdict === 'settled') {
    const { value, count, mean, spread, windowS } = settle
    return { value, label: 'settled', count, mean, spread, windowS }
  }
  const drift = driftOf(live, rule)
  if (drift) {
    const { value, slope, count, spread, windowS } = drift
    return { value, slope, label: 'drifting', count, mean: settle.mean, spread, windowS }
  }
  const brief = short(settle)
  if (!brief) return null
  const { count, mean, spread, windowS } = brief
  return { value: mean, label: 'short', count, mean, spread, windowS }
}

/** Simple acceptance: inside the tolerance band, every part of the newest reading too. A bare peak has no band and is inside. */
function verdictOf(value: number, live: Live, goal: Goal, highest: boolean): Captured['verdict'] {
  if (goal.kind === 'peak') return 'inside'
  const whole = judge(value, goal.band)
  const parts = partsOf(live, highest)
  return whole === 'inside' && parts.length > 0 ? judgeParts(parts, goal.band) : whole
}

/** Both peaks, where the newest reading has them and a value of rest is judged. */
function partsOf(live: Live, highest: boolean): readonly number[] {
  return highest ? [] : (live.current?.parts ?? [])
}

function bandWords(goal: Goal, rule: LiveRule, shownStep: number): string {
  if (goal.kind === 'peak') return goal.dip ? 'minimum' : 'maximum'
  return printTarget({ kind: 'band', unit: rule.facts.unit, ...goal.band }, rule.facts.quantity, shownStep)
}

/** Every value stays; the newest of each step, pass, quantity and title that was not taken back is the latest. */
export function markLatest<
  T extends Pick<Captured, 'number' | 'step' | 'pass' | 'quantity' | 'title' | 'latest'> & {
    readonly takenBack?: true | undefined
  },
>(values: readonly T[]): T[] {
  const keyOf = (one: T) => [one.step, one.pass, one.quantity, one.title].join('\n')
  const counting = values.filter(({ takenBack }) => takenBack !== true)
  const latest = new Map(counting.map((one) => [keyOf(one), one.number]))
  return values.map((value) => {
    const is = latest.get(keyOf(value)) === value.number
    return is === value.latest ? value : { ...value, latest: is }
  })
}
