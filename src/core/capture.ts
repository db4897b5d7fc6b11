import { printTarget, printValue } from '../quantity/print-value.ts'
import type { Captured } from '../schema/live-frame.ts'
import type { Step } from '../schema/procedure-file.ts'
import { judge, judgeParts } from './band.ts'
import type { Goal } from './goal.ts'
import { doubtOf, type Live, type LiveRule } from './live.ts'
import { short } from './settling.ts'

/** Builds what is kept of one quantity; null when fewer than three readings count. `by` says who asked for it. */
export function captureOf(
  live: Live,
  rule: LiveRule,
  step: Step,
  more: { readonly title: string; readonly at: string; readonly by: Captured['by']; readonly goal?: Goal },
): Captured | null {
  const settled = live.settle.verdict === 'settled'
  const peaked = rule.goal.kind === 'peak'
  const brief = settled ? null : short(live.settle)
  if (!settled && !brief) return null
  const value = brief?.mean ?? live.settle.value
  const goal = more.goal ?? rule.goal
  const shownStep = rule.print.step
  return {
    step: step.id,
    row: step.row,
    title: more.title,
    quantity: live.quantity,
    at: more.at,
    value,
    ...printValue(value, rule.facts.unit, shownStep),
    band: bandWords(goal, rule, shownStep),
    verdict: verdictOf(value, live, goal),
    label: peaked ? 'peaked' : settled ? 'settled' : 'short',
    count: brief?.count ?? live.settle.count,
    mean: brief?.mean ?? live.settle.mean,
    spread: brief?.spread ?? live.settle.spread,
    windowS: brief?.windowS ?? live.settle.windowS,
    uncertainty: doubtOf(live, rule),
    by: more.by,
    latest: true,
  }
}

/** Simple acceptance: inside the tolerance band, every part of the newest reading too. A bare peak has no band and is inside. */
function verdictOf(value: number, live: Live, goal: Goal): Captured['verdict'] {
  if (goal.kind === 'peak') return 'inside'
  const whole = judge(value, goal.band)
  const parts = live.current?.parts ?? []
  return whole === 'inside' && parts.length > 0 ? judgeParts(parts, goal.band) : whole
}

function bandWords(goal: Goal, rule: LiveRule, shownStep: number): string {
  if (goal.kind === 'peak') return goal.dip ? 'minimum' : 'maximum'
  return printTarget({ kind: 'band', unit: rule.facts.unit, ...goal.band }, rule.facts.quantity, shownStep)
}

/** Adds a captured value; earlier ones of the same step, quantity and state stay, no longer the latest. */
export function addCaptured(before: readonly Captured[], added: Captured): readonly Captured[] {
  return [
    ...before.map((earlier) =>
      earlier.step === added.step && earlier.quantity === added.quantity && earlier.title === added.title
        ? { ...earlier, latest: false }
        : earlier,
    ),
    added,
  ]
}
