import { printLimit, printTarget, printText } from '../../../quantity/print-value.ts'
import { unitOf } from '../../../quantity/quantity.ts'
import { quantityWords } from '../../../quantity/quantity-words.ts'
import { joined, listed } from '../../../words/said/lists.ts'
import { type Said, said, type Words } from '../../../words/said/said.ts'
import { goalOfQuantity, quantitiesOf } from '../../goal/goal.ts'
import { meterFor, roleIn, roleWords } from '../../goal/meter-for.ts'
import type { Step } from '../../goal/step.ts'
import { type Effects, effectName, NO_EFFECTS } from '../../homing/effect.ts'
import { startRounds } from '../../peaking/rounds.ts'
import { chassisFloats } from '../../plan/intake.ts'
import type { JobPlan } from '../../plan/lines.ts'
import { isRaised, notRaised } from '../../plan/raising.ts'
import { cannotBeDone } from '../../plan/step-faults.ts'
import { type BandChannel, findChannel } from '../../radio/channels.ts'
import { type LiveRule, liveRule } from '../../reading/live.ts'
import { startMeasured } from '../../reading/measured.ts'
import { provesNothing } from '../../uncertainty/conformance.ts'
import type { Job, OpenStep } from '../state/job-types.ts'

/** The line as it is opened, at its first stop; `effects`: what the adjusters are known to do. */
export function openStep(plan: JobPlan, at: number, effects: Effects = plan.effects): OpenStep {
  const line = plan.lines[at]
  if (!line) throw new TypeError(`there is no line number ${at}`)
  const { step } = line
  const turning = step.technique === 'peak' || step.technique === 'dip'
  return {
    step,
    pass: line.pass,
    ...stopOf(plan, step, 0, effects),
    rounds: turning ? startRounds(step.adjust, step.rounds) : null,
    adjuster: step.adjust[0] ?? '',
    actions: step.before === '' ? [] : [step.before],
    jumpSeen: [],
    statesSeen: [],
    trimmed: false,
    wasKeyed: false,
    timeOuts: [],
    wrongSeen: '',
    release: '',
    atBestSinceMs: null,
  }
}

/** What changes from stop to stop of a step: its channel, its tone, and one rule and one fresh picture per quantity that this bench measures. */
export function stopOf(
  plan: JobPlan,
  step: Step,
  at: number,
  effects: Effects = NO_EFFECTS,
): Pick<OpenStep, 'stop' | 'stopAt' | 'channel' | 'measured' | 'coarse' | 'targetWords' | 'toneWords'> {
  const stop = step.stops[at]
  if (!stop) throw new TypeError(`step ${step.id} has no stop number ${at}`)
  const channel = channelOf(plan, step, stop.channel)
  const rules = rulesOf(plan, step, channel, effects)
  return {
    stopAt: at,
    stop,
    channel,
    measured: rules.map(startMeasured),
    coarse: rules.flatMap(coarseWords),
    targetWords: targetWords(step, rules[0]),
    toneWords: stop.tone
      ? said('job.tone', { hz: printText(stop.tone.hz, 'Hz'), volts: printText(stop.tone.volts, 'V') })
      : '',
  }
}

function channelOf(plan: JobPlan, step: Step, wanted: number | 'middle' | null): BandChannel | null {
  if (wanted === null) return null
  if (wanted === 'middle') return plan.middle
  return findChannel(wanted, plan.channels, step.band ?? undefined) ?? null
}

function rulesOf(plan: JobPlan, step: Step, channel: BandChannel | null, effects: Effects): readonly LiveRule[] {
  const channelHz = channel?.transmitHz ?? null
  return quantitiesOf(step).flatMap((quantity) => {
    const facts = meterFor(plan.meters, quantity, roleIn(step, quantity))
    const also = step.also.find((other) => other.quantity === quantity)
    const goal = goalOfQuantity(step, quantity, channelHz)
    if (!facts || !goal) return []
    const adjuster = step.technique === 'set' && !also ? (step.adjust[0] ?? 'supply') : 'supply'
    const turning = adjuster === 'supply' ? null : { usual: effects.get(effectName(adjuster, quantity)) ?? null }
    return [liveRule(facts, goal, quantity === 'DC voltage' ? (step.where.series ?? 0) : 0, turning)]
  })
}

function coarseWords({ doubt, goal, facts }: LiveRule): readonly Said[] {
  if (goal.kind === 'peak' || !provesNothing(doubt, goal.band)) return []
  return [said('step.too-coarse', { instrument: facts.instrument, quantity: quantityWords(facts.quantity) })]
}

/** The target in numbers, with no more digits than the meter supports; as it was written where there is no band; of a wait what ends it. */
function targetWords(step: Step, rule: LiveRule | undefined): Words {
  if (step.drift && step.quantity)
    return said('step.drift-below', {
      drift: printLimit(step.drift.perMinute, unitOf(step.quantity)),
      every: `${step.drift.everyS} s`,
    })
  if (rule?.goal.kind !== 'band') return step.targetWords
  return printTarget({ kind: 'band', unit: rule.facts.unit, ...rule.goal.band }, rule.facts.quantity, rule.print.step)
}

type AtStop = Pick<OpenStep, 'step' | 'stop' | 'channel'>

/** What tells one stop of a step from the others, in words; "" where there is only one. */
export function stopWords(open: AtStop): Words {
  return listed(
    stopParts(open, {
      channel: (channel) => said('step.channel', { channel }),
      state: (state) => said(`step.${state}`),
    }),
  )
}

/**
 * The same as a text, for the title under which a value is kept: by it the newest of its kind is told from those before, in records of
 * every age, so it is no sentence and never changes.
 */
export function stopName(open: AtStop): string {
  const parts = stopParts(open, { channel: (channel) => `channel ${channel}`, state: (state) => state })
  return parts.join(', ')
}

function stopParts<T>(
  open: AtStop,
  part: {
    readonly channel: (channel: number | string) => T
    readonly state: (state: AtStop['stop']['state']) => T
  },
): readonly (T | string)[] {
  const { stops } = open.step
  const differs = (of: (stop: (typeof stops)[number]) => unknown) => new Set(stops.map(of)).size > 1
  const { tone, state } = open.stop
  return [
    ...(differs(({ channel }) => channel) ? [part.channel(open.channel?.channel ?? `${open.stop.channel}`)] : []),
    ...(differs((one) => one.tone?.hz) && tone ? [printText(tone.hz, 'Hz')] : []),
    ...(differs((one) => one.tone?.volts) && tone ? [printText(tone.volts, 'V')] : []),
    ...(differs((one) => one.state) ? [part.state(state)] : []),
  ]
}

/** Why the step cannot be done on this bench, in words; "" when it can. */
export function cannotDo(job: Job): Words {
  const { step, measured } = job.open
  const { set } = job.plan.procedure
  const tooHigh = isRaised(step, set) ? notRaised(job.plan.supplyTrip, set) : null
  if (tooHigh !== null) return tooHigh
  const missing = quantitiesOf(step).filter(
    (quantity) => !measured.some(({ rule }) => rule.facts.quantity === quantity),
  )
  const never = cannotBeDone(step, job.plan.channels)
  if (never !== '') return never
  if (step.key?.tone && !job.plan.setsTone) return said('cannot.tone')
  const shorting = measured.find(({ rule }) => rule.facts.inputIsolated !== 'yes')?.rule
  if (shorting && chassisFloats(job.plan))
    return said(shorting.facts.inputIsolated === 'no' ? 'cannot.short-chassis' : 'cannot.short-chassis-unknown', {
      instrument: shorting.facts.instrument,
    })
  const [unsaid = ''] = missing
    .map((quantity) => roleWords(job.plan.meters, quantity, roleIn(step, quantity)))
    .filter(Boolean)
  if (unsaid !== '') return unsaid
  if (missing.length === 0) return ''
  return said('cannot.measure', { quantities: joined(missing.map(quantityWords), 'list.and') })
}
