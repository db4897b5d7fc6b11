import { type FileHandle, mkdir, open, readdir } from 'node:fs/promises'
import { join } from 'node:path'
import { BenchError, wordsOf } from '../fault/bench-error.ts'
import { type JobHeader, JournalLine } from '../schema/kept/record.ts'
import type { Clock } from '../system/clock.ts'
import { said } from '../words/said/said.ts'
import { chained, NOTHING_BEFORE, sha256 } from './chain.ts'
import { lockFile } from './lock.ts'
import { readJournal } from './read-journal.ts'

type Entry<Line, Placed extends PropertyKey> = Line extends unknown ? Omit<Line, Placed> : never
/** What is written, before it has its place in the chain; a captured value and a mark bring their own time. */
export type JournalEntry =
  | Entry<Exclude<JournalLine, { kind: 'captured' | 'mark' }>, 'n' | 'prev' | 'at'>
  | Entry<Extract<JournalLine, { kind: 'captured' | 'mark' }>, 'n' | 'prev'>

/** An append-only file of one job. */
export interface Journal {
  readonly file: string
  /**
   * Resolves when the entry is on disk (fsync). Many at a time are one write. RECORD_WRITE_FAILED where the disk does not take it; the
   * next entry tries again. An entry that could not be read again (a number that is none) rejects alone, with a TypeError.
   */
  append(entry: JournalEntry): Promise<void>
  /** What was asked for so far is on disk or rejected; idempotent, never throws. */
  close(): Promise<void>
}

const JOURNAL = '.journal'

/** Begins the journal of a job, in FOLDER/jobs. Throws RECORD_WRITE_FAILED, also where a job of that name is there already. */
export async function openJournal(about: {
  readonly folder: string
  readonly header: JobHeader
  readonly clock: Pick<Clock, 'wallTime'>
}): Promise<Journal> {
  const jobs = join(about.folder, 'jobs')
  const file = join(jobs, `${about.header.job}${JOURNAL}`)
  let handle: FileHandle | null = null
  let unlock = async () => {}
  try {
    await mkdir(jobs, { recursive: true })
    unlock = await lockFile(file)
    handle = await open(file, 'wx', 0o600)
    const journal = writer(handle, file, about.clock, { n: 0, prev: NOTHING_BEFORE, bytes: 0, unlock })
    await journal.append({ kind: 'opened', header: about.header })
    await syncFolder(jobs)
    return journal
  } catch (error) {
    await handle?.close().catch(() => {}) // the first fault is the one to tell
    await unlock()
    throw failed(file, error)
  }
}

/**
 * Goes on with a journal whose program ended in the middle. A torn last line is cut off into FILE.torn, and it is written down that it
 * was. Throws RECORD_MISSING, RECORD_BROKEN, RECORD_IN_USE, RECORD_CLOSED for a job that was closed, RECORD_WRITE_FAILED.
 */
export async function continueJournal(file: string, clock: Pick<Clock, 'wallTime'>): Promise<Journal> {
  const unlock = await lockFile(file)
  let handle: FileHandle | null = null
  try {
    const { lines, head, bytes, torn } = readJournal(file)
    const last = lines.at(-1)
    if (!last) throw new BenchError('RECORD_BROKEN', file, said('record.line-no-head'))
    if (last.kind === 'closed') throw new BenchError('RECORD_CLOSED', file, said('record.closed-at', { at: last.at }))
    handle = await open(file, 'r+')
    if (torn.length > 0) {
      await keepTorn(file, torn)
      await handle.truncate(bytes)
    }
    const journal = writer(handle, file, clock, { n: lines.length, prev: head, bytes, unlock })
    await journal.append({ kind: 'resumed', cut: torn.length })
    return journal
  } catch (error) {
    await handle?.close().catch(() => {}) // the first fault is the one to tell
    await unlock()
    throw failed(file, error)
  }
}

/** Every journal below FOLDER/jobs, by file, oldest name first. */
export async function journalsIn(folder: string): Promise<readonly string[]> {
  const jobs = join(folder, 'jobs')
  const names = await readdir(jobs).catch(() => []) // no folder yet: no jobs yet
  return names
    .filter((name) => name.endsWith(JOURNAL))
    .sort()
    .map((name) => join(jobs, name))
}

interface Waiting {
  readonly entry: JournalEntry
  /** When it was asked for; a line that is written later, when there is room again, still says so. */
  readonly at: string
  readonly resolve: () => void
  readonly reject: (reason: Error) => void
}

/** What is on disk for certain: lines, hash of the last, bytes. */
interface Durable {
  readonly n: number
  readonly prev: string
  readonly bytes: number
}

/**
 * A disk that takes no more rejects what was asked for meanwhile; the file is cut back to its last whole line and the next entry tries
 * again. A captured value that was refused is gone (its person was told so and captures again); all else is kept and goes first.
 */
function writer(
  handle: FileHandle,
  file: string,
  clock: Pick<Clock, 'wallTime'>,
  from: Durable & { unlock: () => Promise<void> },
): Journal {
  let durable: Durable = from
  let torn = false
  let left: readonly Waiting[] = []
  let waiting: Waiting[] = []
  let writing: Promise<void> | null = null
  let closing: Promise<void> | null = null

  const write = async (batch: readonly Waiting[]): Promise<void> => {
    const { text, n, prev } = chainOf(batch, durable)
    const bytes = Buffer.from(text, 'utf8')
    if (torn) await handle.truncate(durable.bytes)
    torn = true // until all of it is on disk
    await writeAll(handle, bytes, durable.bytes)
    await handle.datasync()
    torn = false
    durable = { n, prev, bytes: durable.bytes + bytes.length }
  }

  /** What was refused must not be found in the file later. A disk that does not even take this is asked again before the next write. */
  const cutBack = async () => {
    await handle.truncate(durable.bytes).then(
      () => {
        torn = false
      },
      () => {},
    )
  }

  /** Everything that waits goes out in one write and one fsync; what comes meanwhile is the next batch. */
  const flush = async () => {
    while (waiting.length > 0) {
      const fresh = waiting
      waiting = []
      const batch = [...left, ...fresh]
      try {
        await write(batch)
        left = []
        for (const one of fresh) one.resolve()
      } catch (error) {
        const why = failed(file, error)
        await cutBack()
        left = batch.filter(({ entry }) => entry.kind !== 'captured')
        for (const one of fresh) one.reject(why)
      }
    }
    writing = null
  }

  return {
    file,
    append: (entry) => {
      if (closing) return Promise.reject(new BenchError('RECORD_WRITE_FAILED', file, said('record.journal-closed')))
      const at = clock.wallTime()
      const unfit = unreadable(chained(entry, { ...NEXT, at }))
      if (unfit !== '') return Promise.reject(new TypeError(`a journal takes no ${entry.kind} with ${unfit}`))
      return new Promise((resolve, reject) => {
        waiting.push({ entry, at, resolve, reject })
        writing ??= flush()
      })
    },
    close: () => {
      closing ??= (async () => {
        await writing
        // What the disk did not take: once more, and the file ends with a whole line in any case.
        if (left.length > 0) await write(left).catch(() => {})
        if (torn) await cutBack()
        await handle.close().catch(() => {}) // everything in it was synced already
        await from.unlock()
      })()
      return closing
    },
  }
}

/** The lines of a batch, the first behind `from`; and the place behind the last. */
function chainOf(
  batch: readonly Waiting[],
  from: Pick<Durable, 'n' | 'prev'>,
): Pick<Durable, 'n' | 'prev'> & { readonly text: string } {
  let { n, prev } = from
  const lines = batch.map(({ entry, at }) => {
    const text = chained(entry, { n, prev, at })
    n += 1
    prev = sha256(text)
    return `${text}\n`
  })
  return { text: lines.join(''), n, prev }
}

/** Stands for the place in the chain, where only the shape of a line matters. */
const NEXT = { n: 1, prev: NOTHING_BEFORE } as const

/** What would not be read again of a line, "" when all would: JSON makes null of a number that is none, and one such line breaks a journal. */
function unreadable(text: string): string {
  const parsed = JournalLine.safeParse(JSON.parse(text))
  const [first] = parsed.error?.issues ?? []
  return first ? `${first.path.join(' > ')}: ${first.message}` : ''
}

function failed(file: string, error: unknown): BenchError {
  return error instanceof BenchError ? error : new BenchError('RECORD_WRITE_FAILED', file, wordsOf(error), error)
}

/** The bytes of a torn line, added to those of an earlier crash: evidence of what was going on, nothing that was called captured. */
async function keepTorn(file: string, torn: Buffer): Promise<void> {
  const beside = await open(`${file}.torn`, 'a', 0o600)
  try {
    await beside.writeFile(Buffer.concat([torn, Buffer.from('\n')]))
    await beside.sync()
  } finally {
    await beside.close()
  }
}

async function writeAll(handle: FileHandle, bytes: Buffer, at: number): Promise<void> {
  for (let done = 0; done < bytes.length; ) {
    const { bytesWritten } = await handle.write(bytes, done, bytes.length - done, at + done)
    done += bytesWritten
  }
}

/** A new file is there after a crash only when its folder is on disk too. */
export async function syncFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r').catch(() => null) // not every platform opens folders
  await handle?.sync().catch(() => {})
  await handle?.close()
}
