import { isSamePlace } from '../../goal/places.ts'
import type { Job } from '../state/job-types.ts'
import { cautionsNow } from './cautions.ts'

/** The control voltage has jumped when so many readings in a row are this far from where it was, and this near to each other, V (common practice: 20 channels are about 1 V). */
const READINGS = 3
const JUMP_VOLTS = 0.1
const STEADY_VOLTS = 0.03
/** Below it a prod has slipped, or the common is off. */
const LEAST_VOLTS = 0.35

/**
 * Where the control voltage stood at the last capture, V, while the card of the next channel is shown with the prod where it was: in
 * receive nobody else can see that the channel was changed. null where a person has to say so: cautions to be read, something to be
 * done first, another test point, another voltage, the supply off.
 */
export function jumpAwaitedFrom(job: Job): number | null {
  const { open, phase, plan, supply } = job
  const last = job.taken.at(-1)
  if (phase.name !== 'read' || !last || !open.channel || open.step.quantity !== 'DC voltage') return null
  if (open.stop.state !== 'receive' || last.state !== 'receive' || last.quantity !== 'DC voltage') return null
  if (last.channel === null || last.channel === open.channel.channel) return null
  const before = plan.lines.find(({ step }) => step.id === last.step)?.step.where
  const { prod } = open.step.where
  if (!prod || !before?.prod || !isSamePlace(before.prod, prod)) return null
  const normal = (open.step.supplyVolts ?? plan.procedure.set.supplyVolts) === plan.procedure.set.supplyVolts
  if (!normal || supply?.output !== 'on' || job.key.keyed) return null
  if (open.actions.length > 0 || open.measured[0]?.rule.facts.typed === true || cautionsNow(job).fresh.length > 0)
    return null
  return last.value
}

/** The newest readings of a job that waits for a jump, after one more; none while it does not wait. */
export function seenForJump(job: Job, value: number | null): readonly number[] {
  return value === null || jumpAwaitedFrom(job) === null ? [] : [...job.open.jumpSeen, value].slice(-READINGS)
}

/** The set is on another channel: the control voltage went somewhere else and stays there. */
export function channelJumped(job: Job): boolean {
  const from = jumpAwaitedFrom(job)
  const { jumpSeen } = job.open
  if (from === null || jumpSeen.length < READINGS) return false
  const [low, high] = [Math.min(...jumpSeen), Math.max(...jumpSeen)]
  if (low < LEAST_VOLTS || high - low > STEADY_VOLTS) return false
  return low - from > JUMP_VOLTS || from - high > JUMP_VOLTS
}
