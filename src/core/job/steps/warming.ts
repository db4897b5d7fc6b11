import { type Said, said, type Words } from '../../../words/said/said.ts'
import type { Line } from '../../plan/lines.ts'
import { addWarmSample, startWarmUp, warmUpOf } from '../../warm-up/warm-up.ts'
import type { Job, Warming } from '../state/job-types.ts'

/** One sample more, in the unit of the step's quantity; the next one is due in the time that the step says. Throws TypeError for a step that does not wait. */
export function sampled(job: Job, value: number): Warming {
  const { drift } = job.open.step
  if (!drift) throw new TypeError(`step ${job.open.step.id} does not wait for anything`)
  const before = job.warming?.at === job.at ? job.warming.samples : startWarmUp({ driftHzPerMin: drift.perMinute })
  return {
    at: job.at,
    samples: addWarmSample(before, { atS: job.nowMs / 1000, hz: value }),
    aimHz: job.open.channel?.transmitHz ?? null,
    dueMs: job.nowMs + drift.everyS * 1000,
  }
}

/** The line that waits is still to do, and its next sample is due. */
export function sampleDue({ warming, results, nowMs }: Job): boolean {
  return warming !== null && results[warming.at]?.state === 'to do' && nowMs >= warming.dueMs
}

/** The next line of the sheet, where it can be done while the set grows warm: measured, with the key up all the time; -1 where it cannot. */
export function behindWarmUp({ plan, results, warming }: Job): number {
  if (!warming) return -1
  const next = plan.lines.findIndex((_, at) => at > warming.at && results[at]?.state === 'to do')
  const line = plan.lines[next]
  return line && isKeyFree(line) ? next : -1
}

function isKeyFree({ step, pass }: Line): boolean {
  return pass === 'work' && step.quantity !== null && step.stops.every(({ state }) => state === 'receive')
}

/** How the warm-up stands, in words; "" before the first sample. */
export function warmingWords({ warming, nowMs }: Job): Words {
  return warming ? warmUpOf(warming.samples, nowMs / 1000, warming.aimHz).words : ''
}

/** The set moves less than the step allows. */
export function isWarm({ warming, nowMs }: Job): boolean {
  return warming !== null && warmUpOf(warming.samples, nowMs / 1000).verdict === 'ready'
}

/** How long until the next sample, in words. */
export function dueWords({ warming, nowMs }: Job): Said {
  const leftS = Math.max(0, Math.ceil(((warming?.dueMs ?? nowMs) - nowMs) / 1000))
  return said('key.again-in', { left: `${leftS} s` })
}

/** On a simulated bench nobody has to sit out a quarter of an hour. */
export function mayBeWarm({ plan, open, phase }: Job): boolean {
  return plan.simulated && open.step.technique === 'wait' && (phase.name === 'read' || phase.name === 'warming')
}
