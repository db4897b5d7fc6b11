import type { JobWriter, Recorder } from '../alignment/recorder.ts'
import type { JobEntry } from '../core/job/job-entries.ts'
import type { VirtualClock } from '../system/virtual-clock.ts'

/** For a job on a clock that jumps: it stands still while a disk is read and written, so the same seed gives the same job; and a job is written in one go at its end, as a stop for every value would cost more than the job. */
export function atTheEnd(recorder: Recorder, clock: VirtualClock): Recorder {
  const still = <T>(work: Promise<T>): Promise<T> => {
    clock.standFor(work)
    return work
  }
  return {
    jobs: () => still(recorder.jobs()),
    learned: (procedure, simulated) => still(recorder.learned(procedure, simulated)),
    reopen: (job) => still(recorder.reopen(job)),
    start: async (job) => {
      const { writer, earlier } = await still(recorder.start(job))
      const entries: JobEntry[] = []
      const written = () => Promise.all(entries.splice(0).map((entry) => writer.write(entry)))
      const late: JobWriter = {
        jobId: writer.jobId,
        write: async (entry) => void entries.push(entry),
        leave: () => still(Promise.allSettled([written()]).then(() => writer.leave())),
        sign: () => still(written().then(() => writer.sign())),
      }
      return { writer: late, earlier }
    },
  }
}
