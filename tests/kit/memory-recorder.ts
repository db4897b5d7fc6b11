import type { Recorder } from '../../src/alignment/recorder.ts'
import { NO_EFFECTS } from '../../src/core/effect.ts'
import type { JobEntry } from '../../src/core/job-entries.ts'

/** Keeps the entries of a job in memory, at once. */
export function memoryRecorder(): { readonly recorder: Recorder; readonly entries: JobEntry[] } {
  const entries: JobEntry[] = []
  const recorder: Recorder = {
    learned: async () => NO_EFFECTS,
    jobs: async () => ({ open: [], closed: [] }),
    reopen: () => Promise.reject(new Error('nothing to reopen')),
    start: async () => ({
      writer: {
        jobId: 'memory',
        write: async (entry) => void entries.push(entry),
        leave: async () => {},
        sign: async () => ({ record: '', fingerprint: '' }),
      },
      earlier: [],
    }),
  }
  return { recorder, entries }
}
