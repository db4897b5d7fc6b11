import { sentences } from '../../../words/said/lists.ts'
import { said, type Words } from '../../../words/said/said.ts'
import { plainWords } from '../../goal/places.ts'
import type { Kept } from '../../reading/capture.ts'
import type { Band } from '../../uncertainty/band.ts'
import { channelSeen } from '../state/job-seen.ts'
import type { Job } from '../state/job-types.ts'

/** What a person is asked before a value is kept. */
export interface Question {
  /** What may have been forgotten: "Is the oscillator lead in?" */
  readonly ask: Words
  /** Why it is asked: "0.03 kHz, the step expects 1.60 .. 1.95 kHz" */
  readonly why: Words
}

/** Under this share of the lower limit there is no tone in what is measured, only what hums without one (common practice: a tenth). */
const TONE_GONE = 0.25
/** The carrier of one mode and that of the other are as far apart, a ratio (common practice: an AM carrier is a quarter to a half of the FM power). */
const OTHER_CARRIER = 2
/** Two channels whose control voltages are this near are more likely one, V (common practice: 20 channels are about 1 V). */
const SAME_VOLTS = 0.03

/**
 * Far out: further outside the tolerance than the whole of it is wide; where it is open on one side, past half or twice its limit.
 * As found a set may well be out, and hardly so far.
 */
export function farOut(value: number, { low, high }: Pick<Band, 'low' | 'high'>): boolean {
  if (low !== null && high !== null) return value < low - (high - low) || value > high + (high - low)
  if (low !== null) return value < low - Math.abs(low) / 2
  return high !== null && value > high + Math.abs(high)
}

/**
 * What the step wants, what the bench sees of it, and what it cannot see: where a value is far out and something that nobody has seen
 * would explain it, that is asked; null where the value is kept without a question. A first key-down has an end of its own.
 */
export function questionOn(job: Job, kept: Kept): Question | null {
  const { measured, step } = job.open
  const goal = measured[0]?.rule.goal
  if (goal?.kind !== 'band' || step.firstKey || !farOut(kept.value, goal.band)) return null
  const gone = modulationGone(kept, goal.band)
  const asked = [gone ? sourceAsked(job) : '', channelAsked(job), modeAsked(job, kept, goal.band, gone)].filter(
    (one) => one !== '',
  )
  if (asked.length === 0) return null
  const far = { value: `${kept.digits} ${kept.unit}`, band: kept.band }
  const like = sameElsewhere(job, kept)
  const why = like === null ? said('question.far-out', far) : said('question.far-out-as-on', { ...far, channel: like })
  return { ask: sentences(asked), why }
}

/** Nothing of the modulation that the step wants is there. */
function modulationGone({ quantity, value }: Kept, { low }: Band): boolean {
  return (quantity === 'FM deviation' || quantity === 'AM depth') && low !== null && value < TONE_GONE * low
}

/** What it is modulated with. */
function sourceAsked({ open }: Job): Words {
  if (open.stop.tone) return said('question.oscillator')
  const { microphone } = open.step.where
  return microphone === undefined
    ? said('question.sound')
    : said('question.microphone', { microphone: plainWords(microphone) })
}

/** The channel, where no counter sees it and the value goes by it. */
function channelAsked(job: Job): Words {
  const { channel, step } = job.open
  if (!channel || channelSeen(job)) return ''
  const goesByIt = step.quantity !== 'DC current' && !step.adjust.includes('supply') && step.where.prod?.is !== 'plug'
  return goesByIt ? said('question.channel', { channel: channel.channel }) : ''
}

/** The mode, where the set has both: no instrument sees it, but a modulation that is there is that of its mode. */
function modeAsked({ plan, open }: Job, { quantity, value }: Kept, { low, high }: Band, gone: boolean): Words {
  const modes = new Set(plan.procedure.steps.flatMap((row) => (row.kind === 'measure' ? [row.mode] : [])))
  const otherCarrier =
    quantity === 'RF power' &&
    ((low !== null && value < low / OTHER_CARRIER) || (high !== null && value > high * OTHER_CARRIER))
  const goesByIt = otherCarrier || gone
  return modes.size > 1 && goesByIt ? said('question.mode', { mode: open.step.mode }) : ''
}

/** The other channel on which the same control voltage was read; null where there is none. */
function sameElsewhere({ taken, open }: Job, { quantity, value, pass }: Kept): number | null {
  if (quantity !== 'DC voltage' || !open.channel) return null
  const other = taken.findLast(
    (one) =>
      one.quantity === quantity &&
      one.pass === pass &&
      one.state === open.stop.state &&
      one.channel !== null &&
      one.channel !== open.channel?.channel &&
      Math.abs(one.value - value) <= SAME_VOLTS,
  )
  return other?.channel ?? null
}
