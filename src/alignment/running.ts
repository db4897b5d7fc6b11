import type { JobEntry } from '../core/job/job-entries.ts'
import type { Job } from '../core/job/state/job-types.ts'
import { wordsOf } from '../fault/bench-error.ts'
import type { Log } from '../system/log.ts'
import type { Broken } from './broken-job.ts'
import type { Performer } from './perform.ts'
import type { JobWriter } from './recorder.ts'

/** The job at hand, with who carries out what it wants and where it is written down. */
export interface Running {
  job: Job
  readonly performer: Performer
  readonly writer: JobWriter | null
  /** The newest entry on its way to the journal. */
  written: Promise<void>
  /** Why it cannot go on, by a mistake of the program, and since when; null while it can. What was read is kept. */
  broken: Broken | null
}

/** A journal that cannot be written is told when the next value is to be kept: that one waits for it. */
export function writeDown(into: Running, log: Log, entries: readonly JobEntry[]): void {
  for (const entry of entries) {
    into.written = into.writer?.write(entry) ?? into.written
    into.written.catch((error) => log.error({ fault: wordsOf(error), entry: entry.kind }, 'not written down'))
  }
}
