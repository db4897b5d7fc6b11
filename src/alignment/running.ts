import type { Job } from '../core/job-types.ts'
import type { Broken } from './broken-job.ts'
import type { Performer } from './perform.ts'
import type { JobWriter } from './recorder.ts'

/** A job at hand, with who performs its effects and who writes it down. */
export interface Running {
  job: Job
  readonly performer: Performer
  readonly writer: JobWriter | null
  /** The newest entry on its way to the journal. */
  written: Promise<void>
  /** Why it cannot go on, by a mistake of the program, and since when; null while it can. What was read is kept. */
  broken: Broken | null
}
