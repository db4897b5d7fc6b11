import type { Recorder } from '../../../src/alignment/recorder.ts'
import { NO_EFFECTS } from '../../../src/core/homing/effect.ts'
import type { JobEntry } from '../../../src/core/job/job-entries.ts'

/** Keeps the entries of a job in memory: at once, or as `disk` writes them and comes to rest. */
export function memoryRecorder(disk?: MemoryDisk): { readonly recorder: Recorder; readonly entries: JobEntry[] } {
  const entries: JobEntry[] = []
  const recorder: Recorder = {
    learned: async () => NO_EFFECTS,
    jobs: async () => ({ open: [], closed: [] }),
    reopen: () => Promise.reject(new Error('nothing to reopen')),
    start: async () => ({
      writer: {
        jobId: 'memory',
        write: disk ? (entry) => disk.write(() => entries.push(entry)) : async (entry) => void entries.push(entry),
        leave: disk ? () => disk.atRest() : async () => {},
        sign: async () => ({ record: '', fingerprint: '' }),
      },
      earlier: [],
    }),
  }
  return { recorder, entries }
}

export interface MemoryDisk {
  /** Ends when `keep` was called. */
  write(keep: () => void): Promise<void>
  /** Ends when all that was asked for is written. */
  atRest(): Promise<void>
}
