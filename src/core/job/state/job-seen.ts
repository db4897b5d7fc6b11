import type { Quantity } from '../../../quantity/quantity.ts'
import type { Evidence } from '../../../schema/kept/evidence.ts'
import { said, type Words } from '../../../words/said/said.ts'
import { quantitiesOf } from '../../goal/goal.ts'
import { meterFor } from '../../goal/meter-for.ts'
import { plainWords } from '../../goal/places.ts'
import { isKeyed } from '../../goal/step.ts'
import { highestVolts } from '../../plan/raising.ts'
import type { BandChannel } from '../../radio/channels.ts'
import { channelAt } from '../../radio/channels.ts'
import { gainOf } from '../../uncertainty/correction.ts'
import type { Job } from './job-types.ts'
import { type KeyBudget, keyedS } from './key-down.ts'

/** Above normal by more than this, the supply counts as raised, V. */
export const RAISED_BY_VOLTS = 0.2

/** The key-down budget in force: the step's own, else the set's. */
export function budgetOf(job: Job): KeyBudget {
  return job.open.step.key?.budget ?? job.plan.procedure.set.key
}

export function wantsKey(job: Job): boolean {
  return job.open.stop.state === 'transmit'
}

/** Which channel the counter says the set is on; null while it is not keyed or the reading is from before the last change. */
export function channelSeen(job: Job): BandChannel | null {
  const reading = job.seen.frequency
  if (!job.key.keyed || !reading || reading.value === null || reading.epoch < job.counting.epoch) return null
  return channelAt(reading.value, job.plan.channels, job.plan.spacingHz) ?? null
}

/** The set is keyed on another channel than the step wants: words for it, or "". */
export function wrongChannel(job: Job): Words {
  const wanted = job.open.channel
  const seen = channelSeen(job)
  if (!wanted || !seen || seen.transmitHz === wanted.transmitHz) return ''
  const both = { seen: seen.channel, wanted: wanted.channel }
  return seen.reserved ? said('job.on-reserved-channel', both) : said('job.on-wrong-channel', both)
}

/** Keyed by the supply current, yet the power meter sees nothing: words for it, or "". RF is looked for from 1.5 s after key-down. */
export function noRf(job: Job): Words {
  const power = job.seen.power
  if (!job.key.keyed || job.nowMs - job.key.sinceMs < RF_BY_MS || !power || power.beganMs < job.key.sinceMs) return ''
  const facts = meterFor(job.plan.meters, 'RF power', null)
  // An overload, an empty or an unreadable reply is no silence: the meter's own state says what it is.
  if (power.value === null && power.state !== 'under' && power.state !== 'no signal') return ''
  const watts = (power.value ?? 0) * (facts ? gainOf(facts) : 1)
  return watts < RF_PRESENT_W ? said('job.no-rf-though-keyed') : ''
}

const RF_BY_MS = 1500
/** Common practice: from 0.3 W on the transmitter is taken to be on. */
const RF_PRESENT_W = 0.3

/**
 * A voltmeter whose common is on the case of a floating set wanders between 0 and 0.3 V, and a slipped prod reads nothing
 * (common practice): words for it, or "". Where the target itself lies so low nothing is said.
 */
export function suspectLeads(job: Job): Words {
  const [main] = job.open.measured
  const goal = main?.rule.goal
  const volts = main?.live.current?.value
  if (main?.live.quantity !== 'DC voltage' || volts == null || goal?.kind !== 'band') return ''
  if ((goal.band.low ?? 0) < LEAST_TARGET_VOLTS || Math.abs(volts) >= WANDERS_TO_VOLTS) return ''
  if (Math.abs(volts) < NOTHING_VOLTS) return said('job.prod-off')
  const common = job.open.step.where.common
  return common ? said('job.no-common', { common: plainWords(common) }) : said('job.no-common-on-board')
}

const LEAST_TARGET_VOLTS = 0.5
const WANDERS_TO_VOLTS = 0.33
const NOTHING_VOLTS = 0.02

/** Volts at the supply's terminals that give `plugVolts` at the plug, within what the job may put there. A lead above 0.15 ohm is mended, not compensated. */
export function terminalVolts(job: Job, plugVolts: number, keyed: boolean): number {
  const { ohms, keyedAmps, receiveAmps } = job.lead
  const drop = ohms > LEAD_TO_MEND_OHMS ? 0 : ohms * (keyed ? keyedAmps : receiveAmps)
  return Math.min(highestVolts(job.plan.supplyTrip, job.plan.procedure.set), plugVolts + Math.max(0, drop))
}

export const LEAD_TO_MEND_OHMS = 0.15

/** Volts at the set's plug: measured at the supply's terminals, less the drop on the lead; null while the supply is not read. */
export function plugVolts(job: Job): number | null {
  const { volts = null, amps = null } = job.supply ?? {}
  return volts === null || amps === null ? null : volts - job.lead.ohms * amps
}

/** What is demanded and what is so at this moment of the step. */
export function conditionsOf(job: Job): Evidence['conditions'] {
  const { step, channel, toneWords } = job.open
  return {
    wantedVolts: step.supplyVolts ?? job.plan.procedure.set.supplyVolts,
    plugVolts: plugVolts(job),
    amps: job.supply?.amps ?? null,
    channelWanted: channel?.channel ?? null,
    channelSeen: channelSeen(job)?.channel ?? null,
    mode: step.mode,
    tone: toneWords,
    state: wantsKey(job) ? 'transmit' : 'receive',
    keyDownS: keyedS(job.key),
  }
}

/**
 * What the bench should read: the step's own quantities first, then what shows key and channel. Of a check's several quantities one
 * that has settled makes room for the next: a box of several instruments gives its time to the first of the list.
 */
export function wanted(job: Job): readonly Quantity[] {
  const { step, measured: open } = job.open
  const settled = new Set(open.filter(({ live }) => live.settle.verdict === 'settled').map(({ live }) => live.quantity))
  const late = (quantity: Quantity) => (step.technique === 'check' && settled.has(quantity) ? 1 : 0)
  const own = quantitiesOf(step).toSorted((a, b) => late(a) - late(b))
  const keyed: readonly Quantity[] = isKeyed(job.open.step) ? ['RF power', 'frequency'] : []
  const measured = new Set(job.plan.meters.map((meter) => meter.quantity))
  return [...new Set([...own, ...keyed])].filter((quantity) => measured.has(quantity))
}

/** An instrument of the open step that does not answer; undefined where all do. */
export function lostOf({ open, down }: Job): Job['down'][number] | undefined {
  return down.find(({ instrument }) => open.measured.some(({ rule }) => rule.facts.instrument === instrument))
}
