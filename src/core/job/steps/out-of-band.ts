import type { Captured } from '../../../schema/messages/live-frame.ts'
import { sentences } from '../../../words/said/lists.ts'
import { type Said, said, type Words } from '../../../words/said/said.ts'
import type { Job } from '../state/job-types.ts'

/** The first value that is not accepted of the step just done; null where all are, and as found, where it is a reading and no failure. */
export function outOfBand(job: Job): Captured | null {
  if (job.results[job.at]?.state !== 'out of band') return null
  const { step, pass } = job.open
  const here = (one: Captured) => one.latest && one.step === step.id && one.pass === pass
  return job.captured.find((one) => here(one) && !one.accepted) ?? null
}

/** What is wrong with it, short enough to be read while hands are busy. */
export function outWords({ digits, unit, verdict }: Captured): Said {
  const value = `${digits} ${unit}`
  if (verdict === 'low') return said('step.too-low', { value })
  return verdict === 'high' ? said('step.too-high', { value }) : said('step.not-accepted', { value })
}

/** Which of the step's values it is, and what the sheet says is to be done about it. */
export function outSecond({ number, verdict }: Captured, { taken, open }: Job): Words {
  const which = taken.find((one) => one.number === number)?.which ?? ''
  const told = verdict === 'inside' ? nearEdge(which) : outside(which)
  return sentences([told, open.step.ifOut].filter((part) => part !== ''))
}

const nearEdge = (which: Words) =>
  which === '' ? said('step.out-in-near-edge') : said('step.out-in-near-edge-which', { which })
const outside = (which: Words) => (which === '' ? said('step.out-out') : said('step.out-out-which', { which }))
