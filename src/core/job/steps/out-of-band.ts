import type { Captured } from '../../../schema/messages/live-frame.ts'
import type { Job } from '../state/job-types.ts'

/** The first value that is not accepted of the step just done; null where all are, and as found, where it is a reading and no failure. */
export function outOfBand(job: Job): Captured | null {
  if (job.results[job.at]?.state !== 'out of band') return null
  const { step, pass } = job.open
  const here = (one: Captured) => one.latest && one.step === step.id && one.pass === pass
  return job.captured.find((one) => here(one) && !one.accepted) ?? null
}

/** What is wrong with it, short enough to be read while hands are busy. */
export function outWords({ digits, unit, verdict }: Captured): string {
  if (verdict === 'low') return `Too low: ${digits} ${unit}`
  if (verdict === 'high') return `Too high: ${digits} ${unit}`
  return `Not accepted: ${digits} ${unit}`
}

/** Which of the step's values it is, and what the sheet says is to be done about it. */
export function outSecond({ number, verdict }: Captured, { taken, open }: Job): string {
  const which = taken.find((one) => one.number === number)?.which ?? ''
  const said = verdict === 'inside' ? 'in the band, but too near its edge' : 'out of band'
  return [which === '' ? `${said}.` : `${which}: ${said}.`, open.step.ifOut].filter((part) => part !== '').join(' ')
}
