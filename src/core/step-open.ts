import { printTarget, printText } from '../quantity/print-value.ts'
import { findChannel } from './channels.ts'
import { goalOf, goalOfStep, quantitiesOf } from './goal.ts'
import type { Job, JobPlan, OpenStep } from './job-types.ts'
import { type LiveRule, liveRule, startLive } from './live.ts'
import { startRounds } from './rounds.ts'

/** The step as it is opened: its channel, and one rule and one fresh picture per quantity that this bench measures. */
export function openStep(plan: JobPlan, at: number): OpenStep {
  const step = plan.procedure.steps[at]
  if (!step) throw new TypeError(`there is no step number ${at}`)
  const channel =
    step.channel === null
      ? null
      : step.channel === 'middle'
        ? plan.middle
        : (findChannel(step.channel, plan.channels, step.band ?? undefined) ?? null)
  const rules: LiveRule[] = []
  for (const quantity of quantitiesOf(step)) {
    const facts = plan.meters.find((meter) => meter.quantity === quantity)
    const also = step.also.find((other) => other.quantity === quantity)
    const goal = also
      ? goalOf(also.target, channel?.transmitHz ?? null, NO_MORE)
      : goalOfStep(step, channel?.transmitHz ?? null)
    if (facts && goal) rules.push(liveRule(facts, goal, quantity === 'DC voltage' ? (step.where.series ?? 0) : 0))
  }
  const tone = step.key?.tone
  const turning = step.technique === 'peak' || step.technique === 'dip'
  return {
    step,
    channel,
    rules,
    lives: rules.map(startLive),
    state: 0,
    rounds: turning ? startRounds(step.adjust, step.rounds) : null,
    adjuster: step.adjust[0] ?? '',
    acted: false,
    statesSeen: [],
    trimmed: false,
    wrongSeen: '',
    targetWords: targetWords(step, rules[0]),
    toneWords: tone ? `${printText(tone.hz, 'Hz')} at ${printText(tone.volts, 'V')}` : '',
    release: '',
    atBestSinceMs: null,
  }
}

/** The target in numbers, with no more digits than the meter supports; as it was written where there is no band. */
function targetWords(step: OpenStep['step'], rule: LiveRule | undefined): string {
  if (rule?.goal.kind !== 'band') return step.targetWords
  return printTarget({ kind: 'band', unit: rule.facts.unit, ...rule.goal.band }, rule.facts.quantity, rule.print.step)
}

const NO_MORE = { aim: null, rule: null }

/** Why the step cannot be done on this bench, in words; "" when it can. */
export function cannotDo(job: Job): string {
  const { step, rules, channel } = job.open
  const missing = quantitiesOf(step).filter((quantity) => !rules.some((rule) => rule.facts.quantity === quantity))
  if (step.channel !== null && channel === null) return `channel ${step.channel} is in none of the bands in use`
  if (step.key?.tone && !job.plan.setsTone) return 'nobody on this bench makes the audio tone'
  return missing.length === 0 ? '' : `nobody on this bench measures ${missing.join(' and ')}`
}
