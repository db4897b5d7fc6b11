import { printTarget, printValue } from '../../quantity/print-value.ts'
import type { Evidence } from '../../schema/kept/evidence.ts'
import type { Captured } from '../../schema/messages/live-frame.ts'
import type { Goal } from '../goal/goal.ts'
import type { Drifting } from '../settling/drifting.ts'
import type { Rested } from '../settling/settling.ts'
import { restedIn } from '../settling/settling.ts'
import { judge, judgeParts } from '../uncertainty/band.ts'
import { MADE_FROM } from '../uncertainty/captured-budget.ts'
import type { DecisionRule } from '../uncertainty/decision.ts'
import { type Code, codeOf, NEWEST } from './algorithms.ts'
import type { Live, LiveRule } from './live.ts'

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

/** What figures are made of: how the readings came to rest, the newest that counts, the largest seen. */
export type SeenSince = Pick<Live, 'current' | 'highest'> & { readonly rested: Rested }

const NEWEST_CODE = codeOf(NEWEST)

/** The figures of one quantity from the readings that count; null while there are too few: one typed by a person, else three. */
export function figuresOf({ current, highest, settle }: Live, rule: LiveRule, how: HowCaptured): Figures | null {
  return figuresBy(NEWEST_CODE, { current, highest, rested: restedIn(settle) }, rule, how)
}

/** The same by the code of given versions: so a record is worked out again. */
export function figuresBy(code: Code, seen: SeenSince, rule: LiveRule, how: HowCaptured): Figures | null {
  const found = rule.facts.typed ? typedOf(seen) : how.highest ? highestOf(seen) : restOf(seen, rule, code)
  if (!found) return null
  const goal = how.judged ?? rule.goal
  const shownStep = rule.print.step
  const isPeak = rule.goal.kind === 'peak' && (found.label === 'settled' || found.label === 'short')
  const label = isPeak ? 'peaked' : found.label
  const newest = seen.current?.value ?? found.value
  const uncertainty = code.expands(rule.doubt, { ...found, from: MADE_FROM[label] }, newest)
  const parts = partsOf(seen, how.highest)
  return {
    ...found,
    label,
    ...printValue(found.value, rule.facts.unit, shownStep),
    band: bandWords(goal, rule, shownStep),
    verdict: verdictOf(found.value, parts, goal),
    uncertainty,
    ...code.accepts({ value: found.value, parts, uncertainty }, goal, how.decision),
  }
}

type Found = Pick<Captured, 'value' | 'label' | 'count' | 'mean' | 'spread' | 'windowS' | 'slope'>

function typedOf({ current }: SeenSince): Found | null {
  const value = current?.value
  return value == null ? null : { value, label: 'typed', count: 1, mean: value, spread: 0, windowS: 0 }
}

function highestOf({ highest, rested }: SeenSince): Found | null {
  const all = rested.all()
  if (!all || highest === null) return null
  const { count, mean, spread, windowS } = all
  return { value: highest, label: 'highest', count, mean, spread, windowS }
}

/** Whether what is not at rest may be captured as drifting now; null where it may not, and for a peak. */
export function driftOf({ settle }: Live, rule: LiveRule): Drifting | null {
  return NEWEST_CODE.drifts(restedIn(settle), rule.settle, rule.goal)
}

function restOf({ rested }: SeenSince, { goal, settle: rule }: LiveRule, code: Code): Found | null {
  if (rested.verdict === 'settled') {
    const { value, count, mean, spread, windowS } = rested
    return { value, label: 'settled', count, mean, spread, windowS }
  }
  const drift = code.drifts(rested, rule, goal)
  if (drift) {
    const { value, slope, count, spread, windowS } = drift
    return { value, slope, label: 'drifting', count, mean: rested.mean, spread, windowS }
  }
  const brief = rested.brief()
  if (!brief) return null
  const { count, mean, spread, windowS } = brief
  return { value: mean, label: 'short', count, mean, spread, windowS }
}

/** Simple acceptance: inside the tolerance band, every part of the newest reading too. A bare peak has no band and is inside. */
function verdictOf(value: number, parts: readonly number[], goal: Goal): Captured['verdict'] {
  if (goal.kind === 'peak') return 'inside'
  const whole = judge(value, goal.band)
  return whole === 'inside' && parts.length > 0 ? judgeParts(parts, goal.band) : whole
}

/** Both peaks, where the newest reading has them and a value of rest is judged. */
function partsOf({ current }: SeenSince, highest: boolean): readonly number[] {
  return highest ? [] : (current?.parts ?? [])
}

function bandWords(goal: Goal, rule: LiveRule, shownStep: number): string {
  if (goal.kind === 'peak') return goal.dip ? 'minimum' : 'maximum'
  return printTarget({ kind: 'band', unit: rule.facts.unit, ...goal.band }, rule.facts.quantity, shownStep)
}

/** How a step ends by its latest values: in band where there are some and all are accepted; as found it is a reading and no failure. */
export function stepEnd(
  values: readonly Pick<Captured, 'step' | 'pass' | 'latest' | 'accepted'>[],
  { step, pass }: Pick<Captured, 'step' | 'pass'>,
): { readonly inside: boolean; readonly state: 'done' | 'out of band' } {
  const latest = values.filter((one) => one.step === step && one.pass === pass && one.latest)
  const inside = latest.length > 0 && latest.every(({ accepted }) => accepted)
  return { inside, state: inside || pass === 'found' ? 'done' : 'out of band' }
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
