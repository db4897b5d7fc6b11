import { basename } from 'node:path'
import { CAUTION_SEEN, FOUND_CLOSED } from '../core/job/job-entries.ts'
import type { Remembered } from '../core/job/restore-job.ts'
import type { JobPlan } from '../core/plan/lines.ts'
import { BenchError } from '../fault/bench-error.ts'
import { type JournalEntry, journalsIn } from '../record/journal.ts'
import { readJournal } from '../record/read-journal.ts'
import type { JobHeader, JournalLine } from '../schema/kept/record.ts'
import { type Said, said } from '../words/said/said.ts'

type Drivers = JobHeader['drivers']

/** The journal of a job as it was read, with what stands at its head. */
export interface KnownJob {
  readonly file: string
  readonly header: JobHeader
  /** When it was opened. */
  readonly at: string
  readonly lines: readonly JournalLine[]
  /** SHA-256 of its last line. */
  readonly head: string
}

/** The job of that name below the data folder. Throws RECORD_MISSING, RECORD_BROKEN. */
export async function knownJob(folder: string, job: string): Promise<KnownJob> {
  const file = (await journalsIn(folder)).find((one) => basename(one) === `${job}.journal`)
  if (file === undefined) throw new BenchError('RECORD_MISSING', job, said('record.no-journal', { job }))
  const { lines, head } = readJournal(file)
  const [first] = lines
  if (first?.kind !== 'opened') throw new BenchError('RECORD_BROKEN', file, said('record.line-no-head'))
  return { file, header: first.header, at: first.at, lines, head }
}

/** A closed job of the same set, whose as-found readings are to stand. Throws what `knownJob` throws, and JOB_REQUEST_REFUSED where it is of another set, still open, or simulated where this bench is not. */
export async function earlierJob(folder: string, job: string, serial: string, simulated: boolean): Promise<KnownJob> {
  const known = await knownJob(folder, job)
  const { header, lines } = known
  const refuse = (what: Said) => new BenchError('JOB_REQUEST_REFUSED', job, what)
  if (serial === '') throw refuse(said('record.serial-missing'))
  if (header.serial !== serial) throw refuse(said('record.other-serial', { was: header.serial, is: serial }))
  if (header.simulated !== simulated)
    throw refuse(said(header.simulated ? 'record.other-simulated' : 'record.other-real'))
  if (lines.at(-1)?.kind !== 'closed') throw refuse(said('record.still-open'))
  return known
}

/** Drivers of the new job and of what is taken over, so that every raw reply can be read again from the record alone. */
export function withEarlier(own: Drivers, earlier: KnownJob | null): Drivers {
  if (!earlier) return own
  const more = earlier.header.drivers.filter(
    (one) => !own.some(({ id, sha256 }) => id === one.id && sha256 === one.sha256),
  )
  return [...own, ...more.map((one) => ({ ...one, id: idOf(one, own, earlier) }))]
}

/** A driver whose file was changed since goes under a name of its own. */
function idOf({ id, sha256 }: Drivers[number], own: Drivers, { header }: KnownJob): string {
  const changed = own.some((one) => one.id === id && one.sha256 !== sha256)
  return changed ? `${id} (${header.job})` : id
}

/**
 * What stands as found in the earlier job, as entries of the new one: values numbered anew from 1, each with the job it is from.
 * Where something was turned in it, what it had not read as found is left out for good.
 */
export function foundIn(earlier: KnownJob, plan: JobPlan, own: Drivers): readonly JournalEntry[] {
  const { header } = earlier
  const steps = plan.lines.flatMap(({ pass, step }) => (pass === 'found' && step.quantity !== null ? [step.id] : []))
  const settings = new Set(plan.procedure.settings.map(({ name }) => name))
  const back = new Set(earlier.lines.flatMap((line) => (line.kind === 'taken back' ? line.numbers : [])))
  let number = 0
  const stands = earlier.lines.map(entryOf).flatMap((entry): JournalEntry[] => {
    switch (entry.kind) {
      case 'captured': {
        if (entry.pass !== 'found' || back.has(entry.number) || !steps.includes(entry.step)) return []
        const { facts } = entry.evidence
        const was = header.drivers.find(({ id }) => id === facts.driver)
        const driver = was ? idOf(was, own, earlier) : facts.driver
        number += 1
        const evidence = { ...entry.evidence, facts: { ...facts, driver } }
        return [{ ...entry, number, from: entry.from ?? header.job, evidence }]
      }
      case 'step':
        return entry.pass === 'found' && plan.lines.some(({ pass, step }) => pass === 'found' && step.id === entry.step)
          ? [entry]
          : []
      case 'setting':
        return entry.column === 'found' && settings.has(entry.name) ? [entry] : []
      case 'event':
        return entry.what === FOUND_CLOSED
          ? [{ ...entry, words: said('record.event-in', { words: entry.words, job: header.job }) }]
          : []
      default:
        return []
    }
  })
  const turned = stands.some(({ kind }) => kind === 'event')
  const isOver = (id: string) => stands.some((entry) => entry.kind === 'step' && entry.step === id)
  const missing = turned ? steps.filter((id) => !isOver(id)) : []
  return [
    ...stands,
    ...missing.map((step) => ({
      kind: 'step' as const,
      step,
      pass: 'found' as const,
      state: 'left out' as const,
      reason: said('record.not-as-found-in-time'),
    })),
  ]
}

/** A line of a journal without its place in the chain. */
export function entryOf(line: JournalLine): JournalEntry {
  const { n: _n, prev: _prev, ...placed } = line
  if (placed.kind === 'captured' || placed.kind === 'mark') return placed
  const { at: _at, ...entry } = placed
  return entry
}

/** What a journal's entry means to a job that goes on from it. */
export function rememberedOf(entry: JournalEntry): readonly Remembered[] {
  switch (entry.kind) {
    case 'step':
    case 'setting':
    case 'taken back':
    case 'mark':
    case 'explained':
      return [entry]
    case 'answered':
      return entry.answer === CAUTION_SEEN ? [{ kind: 'caution', words: entry.question }] : []
    case 'event':
      return entry.what === FOUND_CLOSED ? [{ kind: 'turned' }] : []
    case 'captured': {
      const { evidence: _evidence, kind, from, slope, takenBack: _back, ...captured } = entry
      const rare = { ...(from === undefined ? {} : { from }), ...(slope === undefined ? {} : { slope }) }
      return [{ kind, captured: { ...captured, ...rare } }]
    }
    default:
      return []
  }
}
