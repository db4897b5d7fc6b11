import { isDeepStrictEqual } from 'node:util'
import type { JobEntry } from '../../core/job/job-entries.ts'
import { NOTHING_BEFORE } from '../../record/chain.ts'
import type { JournalEntry } from '../../record/journal.ts'
import { readJournal } from '../../record/read-journal.ts'
import { entryOf } from '../../recording/earlier-job.ts'
import { JournalLine } from '../../schema/kept/record.ts'
import { said, type Words } from '../../words/said/said.ts'

/** How what a job wrote down when it was run again stands to its journal. */
export interface AgainstJournal {
  readonly job: string
  /** Entries that are the same, to the last digit. */
  readonly same: number
  readonly captured: number
  /** In words; "" where there is none. */
  readonly difference: Words
}

/** Throws what reading a journal throws. */
export function againstJournal(file: string, written: ReadonlyMap<string, readonly JobEntry[]>): AgainstJournal {
  const { lines } = readJournal(file)
  const [first] = lines
  const job = first?.kind === 'opened' ? first.header.job : ''
  const now = (written.get(job) ?? []).map(asKept)
  if (now.length === 0) return { job, same: 0, captured: 0, difference: said('course.journal-nothing', { job }) }
  const then = lines.flatMap((line) => (line.kind === 'opened' || line.kind === 'resumed' ? [] : [entryOf(line)]))
  const at = placeOf(now, then)
  const same = alike(now, then, at)
  const captured = now.slice(0, same).filter(({ kind }) => kind === 'captured').length
  if (same === now.length) return { job, same, captured, difference: '' }
  const difference = said('course.journal-entry', {
    number: same + 1,
    was: words(then[at + same]),
    now: words(now[same]),
  })
  return { job, same, captured, difference }
}

/** As it would be read from a journal. */
function asKept(entry: JobEntry): JournalEntry {
  const place = { n: 1, prev: NOTHING_BEFORE, at: '' }
  return entryOf(JournalLine.parse({ ...place, ...JSON.parse(JSON.stringify(entry)) }))
}

/** A job that was opened again, or goes on from another, has older entries in its journal: where the most is alike. */
function placeOf(now: readonly JournalEntry[], then: readonly JournalEntry[]): number {
  const places = then.map((_, at) => at)
  const scores = places.map((at) => alike(now, then, at))
  return Math.max(0, scores.indexOf(Math.max(0, ...scores)))
}

function alike(now: readonly JournalEntry[], then: readonly JournalEntry[], from: number): number {
  const first = now.findIndex((entry, at) => !isDeepStrictEqual(entry, then[from + at]))
  return first < 0 ? now.length : first
}

function words(entry: JournalEntry | undefined): Words {
  if (!entry) return said('course.journal-nothing-more')
  if (entry.kind === 'captured') {
    const { title, value, unit, label, verdict } = entry
    return said('course.journal-captured', { title, value: `${value} ${unit}`, label, verdict })
  }
  return JSON.stringify(entry)
}
