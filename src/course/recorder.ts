import type { JobWriter, Recorder } from '../alignment/recorder.ts'
import { effectsFrom, knownEffects } from '../core/homing/effect.ts'
import type { JobEntry } from '../core/job/job-entries.ts'
import type { Remembered } from '../core/job/restore-job.ts'
import {
  readEffects,
  readJobs,
  readReopened,
  readSigned,
  readStarted,
  readText,
} from '../schema/course/course-value.ts'
import { readYamlText } from '../schema/door/yaml-door.ts'
import { Procedure } from '../schema/files/procedure-file.ts'
import { type Form, NOTHING, plain, type Side } from './side.ts'

type Reopened = Awaited<ReturnType<Recorder['reopen']>>
type Started = Awaited<ReturnType<Recorder['start']>>

/** The journal, through the door: what is written down goes out, that it is on disk comes in. `wrote` is told of each entry that goes out. */
export function recorderThrough(
  side: Side,
  real: Recorder,
  wrote: (entry: JobEntry, job: string) => void = () => {},
): Recorder {
  const asked = <T>(what: string, about: unknown, form: Form<T>, work: () => Promise<T>): Promise<T> => {
    const id = side.number()
    side.did({ kind: 'ask', id, what, about })
    return side.settle(id, form, work)
  }

  const writerThrough = (writer: JobWriter): JobWriter => ({
    jobId: writer.jobId,
    write: (entry) => {
      wrote(entry, writer.jobId)
      return asked('journal: write', entry, NOTHING, () => writer.write(entry))
    },
    leave: () => asked('journal: leave', null, NOTHING, () => writer.leave()),
    sign: () => asked('journal: sign', null, plain(readSigned), () => writer.sign()),
  })

  const started: Form<Started> = {
    write: ({ writer, earlier }) => ({ jobId: writer.jobId, earlier }),
    read: (written) => {
      const { jobId, earlier } = readStarted(written)
      return { writer: writerThrough(noWriter(jobId)), earlier: earlier.filter(isRemembered) }
    },
  }
  const goneOn: Form<JobWriter> = {
    write: ({ jobId }) => jobId,
    read: (written) => writerThrough(noWriter(readText(written))),
  }
  /** A job that is gone on with is written on by the way that came with it. */
  const withGoOn = (from: Omit<Reopened, 'goOn'>, goOn: Reopened['goOn']): Reopened => ({
    ...from,
    goOn: () => asked('journal: go on', null, goneOn, async () => writerThrough(await goOn())),
  })
  const reopened: Form<Reopened> = {
    write: reopenedLine,
    read: (written) => {
      const { file, procedure: text, card, serial, bands, intake, remembered, supplyTrip } = readReopened(written)
      const offered = { file, procedure: readYamlText(text, file, Procedure), text }
      return withGoOn(
        { offered, card, serial, bands, intake, supplyTrip, remembered: remembered.filter(isRemembered) },
        nobody,
      )
    },
  }

  return {
    jobs: () => asked('journal: jobs', null, plain(readJobs), () => real.jobs()),
    learned: (procedure, simulated) =>
      asked(
        'journal: learned',
        { procedure, simulated },
        { write: knownEffects, read: (written) => effectsFrom(readEffects(written)) },
        () => real.learned(procedure, simulated),
      ),
    reopen: (job) =>
      asked('journal: reopen', job, reopened, async () => {
        const { goOn, ...from } = await real.reopen(job)
        return withGoOn(from, goOn)
      }),
    start: (job) =>
      asked(
        'journal: start',
        { serial: job.plan.serial, file: job.offered.file, bands: job.bands, continues: job.continues },
        started,
        async () => {
          const { writer, earlier } = await real.start(job)
          return { writer: writerThrough(writer), earlier }
        },
      ),
  }
}

/** What `readReopened` reads again. */
function reopenedLine({ offered, card, serial, bands, intake, remembered, supplyTrip }: Reopened) {
  return { file: offered.file, procedure: offered.text, card, serial, bands, intake, remembered, supplyTrip }
}

/** Its kind was looked at when it was read; the rest is as a journal had it. */
function isRemembered(one: { readonly kind: string }): one is Remembered {
  return one.kind !== ''
}

const nobody = (): Promise<never> => Promise.reject(new TypeError('nobody writes here: all comes from a course'))

/** In the place of a recorder where everything comes from what was written down. */
export const NO_RECORDER: Recorder = { jobs: nobody, learned: nobody, reopen: nobody, start: nobody }

/** In the place of a writer where everything comes from what was written down. */
function noWriter(jobId: string): JobWriter {
  return { jobId, write: nobody, leave: nobody, sign: nobody }
}
