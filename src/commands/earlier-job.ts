import { basename } from 'node:path'
import type { ClosedJob } from '../alignment/recorder.ts'
import { FOUND_CLOSED } from '../core/job-entries.ts'
import type { JobPlan } from '../core/job-types.ts'
import type { Remembered } from '../core/restore-job.ts'
import { BenchError } from '../fault/bench-error.ts'
import type { JournalEntry } from '../record/journal.ts'
import { journalsIn } from '../record/journal.ts'
import { readJournal } from '../record/read-journal.ts'
import type { JobHeader, JournalLine } from '../schema/record.ts'

type Drivers = JobHeader['drivers']

/** An earlier job of a set, whose as-found readings are to stand in a new one. */
export interface EarlierJob {
  readonly header: JobHeader
  readonly lines: readonly JournalLine[]
  readonly continues: NonNullable<JobHeader['continues']>
}

/** The closed job of that name. Throws RECORD_MISSING, RECORD_BROKEN, and JOB_REQUEST_REFUSED where it is of another set, still open, or simulated where this bench is not. */
export async function earlierJob(folder: string, job: string, serial: string, simulated: boolean): Promise<EarlierJob> {
  const file = (await journalsIn(folder)).find((one) => basename(one) === `${job}.journal`)
  if (file === undefined) throw new BenchError('RECORD_MISSING', job, 'there is no journal of that job')
  const { lines, head } = readJournal(file)
  const [first] = lines
  const refuse = (what: string) => new BenchError('JOB_REQUEST_REFUSED', job, what)
  if (first?.kind !== 'opened') throw new BenchError('RECORD_BROKEN', file, 'line 1 is not the head of a job')
  const { header } = first
  if (serial === '') throw refuse('a set without a serial cannot be told from another')
  if (header.serial !== serial) throw refuse(`that job was serial ${header.serial}, this set is ${serial}`)
  if (header.simulated !== simulated)
    throw refuse(`that job was ${header.simulated ? 'simulated' : 'real'}, this bench is not`)
  if (lines.at(-1)?.kind !== 'closed') throw refuse('that job was never closed: open it again where it stood')
  return { header, lines, continues: { job, at: first.at, head } }
}

/** Drivers of the new job and of what is taken over, so that every raw reply can be read again from the record alone. */
export function withEarlier(own: Drivers, earlier: EarlierJob | null): Drivers {
  if (!earlier) return own
  const more = earlier.header.drivers.filter(
    (one) => !own.some(({ id, sha256 }) => id === one.id && sha256 === one.sha256),
  )
  return [...own, ...more.map((one) => ({ ...one, id: idOf(one, own, earlier) }))]
}

/** A driver whose file was changed since goes under a name of its own. */
function idOf({ id, sha256 }: Drivers[number], own: Drivers, { header }: EarlierJob): string {
  const changed = own.some((one) => one.id === id && one.sha256 !== sha256)
  return changed ? `${id} (${header.job})` : id
}

/** What stands as found in the earlier job, as entries of the new one: values numbered anew from 1, each with the job it is from. */
export function foundIn(earlier: EarlierJob, plan: JobPlan, own: Drivers): readonly JournalEntry[] {
  const { header, lines } = earlier
  const isFound = (step: string) => plan.lines.some((line) => line.pass === 'found' && line.step.id === step)
  let number = 0
  return lines.flatMap((line): JournalEntry[] => {
    switch (line.kind) {
      case 'captured': {
        if (line.pass !== 'found' || !isFound(line.step)) return []
        const { n: _n, prev: _prev, ...value } = line
        const was = header.drivers.find(({ id }) => id === value.evidence.facts.driver)
        const facts = was ? { ...value.evidence.facts, driver: idOf(was, own, earlier) } : value.evidence.facts
        number += 1
        return [{ ...value, number, from: value.from ?? header.job, evidence: { ...value.evidence, facts } }]
      }
      case 'step': {
        const { n: _n, prev: _prev, at: _at, ...step } = line
        return line.pass === 'found' && isFound(line.step) ? [step] : []
      }
      case 'setting': {
        const { n: _n, prev: _prev, at: _at, ...setting } = line
        const isThere = plan.procedure.settings.some(({ name }) => name === line.name)
        return line.column === 'found' && isThere ? [setting] : []
      }
      case 'event': {
        const { n: _n, prev: _prev, at: _at, ...event } = line
        return line.what === FOUND_CLOSED ? [{ ...event, words: `${event.words} (in ${header.job})` }] : []
      }
      default:
        return []
    }
  })
}

/** What a journal's entry means to a job that goes on from it. */
export function rememberedOf(line: JournalLine | JournalEntry): readonly Remembered[] {
  switch (line.kind) {
    case 'step': {
      const { kind, step, pass, state, reason } = line
      return [{ kind, step, pass, state, reason }]
    }
    case 'setting': {
      const { kind, name, column, value, reason } = line
      return [{ kind, name, column, value, reason }]
    }
    case 'event':
      return line.what === FOUND_CLOSED ? [{ kind: 'turned' }] : []
    case 'captured': {
      const { evidence: _evidence, kind, from, ...captured } = line
      const { n: _n, prev: _prev, ...plain } = { n: 0, prev: '', ...captured }
      return [{ kind, captured: { ...plain, ...(from === undefined ? {} : { from }) } }]
    }
    default:
      return []
  }
}

/** Closed jobs by the first and last lines of their journals, newest first, at most 50. */
export function closedJob(first: JournalLine | null, last: JournalLine | null): readonly ClosedJob[] {
  if (first?.kind !== 'opened' || last?.kind !== 'closed') return []
  const { job, serial, procedure } = first.header
  return [{ job, serial, procedure: procedure.title, closedAt: last.at }]
}
