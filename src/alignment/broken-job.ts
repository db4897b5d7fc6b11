import { emptyFrame } from '../core/guidance/watch.ts'
import type { Job } from '../core/job/state/job-types.ts'
import { wordsOf } from '../fault/bench-error.ts'
import type { SupplyState } from '../schema/messages/keeper-message.ts'
import type { LiveFrame, SupplyView } from '../schema/messages/live-frame.ts'
import type { Words } from '../words/said/said.ts'

export interface FrameFacts {
  readonly bench: LiveFrame['bench']
  readonly seq: number
}

/** Why a job cannot go on, and since when, bench ms. */
export interface Broken {
  readonly words: Words
  readonly sinceMs: number
}

/** An off that is not proved within this time, ms, is a matter for the hand at the switch. */
const UNPROVED_MS = 2000

/** What is said of a job that threw. */
export function brokenWords(error: unknown): string {
  return `this job cannot go on, by a mistake of the program (${wordsOf(error)}). What was captured is kept: close the job, and its record is made`
}

/** The picture of a job that cannot be drawn: the supply off or on its way there, why, and everything that was captured. */
export function brokenFrame(
  job: Job,
  broken: Broken,
  about: FrameFacts & {
    readonly job: LiveFrame['job']
    readonly supply: SupplyState
    readonly atMs: number
  },
): LiveFrame {
  const late = about.atMs - broken.sinceMs >= UNPROVED_MS
  const words =
    about.supply.output === 'off' ? 'SUPPLY OFF' : late ? 'Switch the supply off by hand' : 'Switching the supply off'
  return {
    ...emptyFrame(about, about.atMs),
    mode: 'job',
    state: 'stopped',
    guide: { words, way: '', hands: 'off' },
    because: broken.words,
    supply: supplyViewOf(about.supply),
    events: job.events,
    steps: job.sheet,
    captured: job.captured,
    marks: job.marks,
    settings: job.settings,
    job: about.job,
    offers: ['close job'],
  }
}

/** The supply as it is, with nothing wanted of it. */
export function supplyViewOf({ volts, amps, output, resting, moving }: SupplyState): SupplyView {
  return { plugVolts: volts, terminalVolts: volts, amps, output, resting, moving, wantedVolts: null }
}
