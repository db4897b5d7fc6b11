import type { Captured } from '../schema/live-frame.ts'
import type { Job } from './job-types.ts'

/** The first value that is not accepted of the step just done; null where all are, and as found, where it is a reading and no failure. */
export function outOfBand(job: Job): Captured | null {
  if (job.results[job.at]?.state !== 'out of band') return null
  const { step, pass } = job.open
  const here = (one: Captured) => one.latest && one.step === step.id && one.pass === pass
  return job.captured.find((one) => here(one) && !one.accepted) ?? null
}

/** What is wrong with it, short enough to be read while hands are busy. */
export function outWords({ digits, unit, verdict }: Captured): string {
  if (verdict === 'low') return `Out of band: ${digits} ${unit} is too low`
  if (verdict === 'high') return `Out of band: ${digits} ${unit} is too high`
  return `Not accepted: ${digits} ${unit} is too near the edge`
}

/** Where it was read, and what the sheet says is to be done about it. */
export function outSecond({ title }: Captured, then: string): string {
  return then === '' ? title : `${title}. ${then}`
}
