import type { Recorder } from './recorder.ts'

/** The jobs that are written down in the folder, for the first screen. */
export interface JobList {
  /** As last looked at; a folder that cannot be read has none. */
  known(): Awaited<ReturnType<Recorder['jobs']>>
  look(): Promise<void>
}

const NO_JOBS = { open: [], closed: [] } as const

/** Looks once at the start. Never throws. */
export function openJobList(recorder: Recorder | null): JobList {
  let known: Awaited<ReturnType<Recorder['jobs']>> = NO_JOBS
  const look = async () => {
    known = (await recorder?.jobs().catch(() => NO_JOBS)) ?? NO_JOBS
  }
  void look()
  return { known: () => known, look }
}
