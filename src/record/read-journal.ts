import { readFileSync } from 'node:fs'
import { BenchError } from '../fault/bench-error.ts'
import { JournalLine } from '../schema/kept/record.ts'
import { type Said, said } from '../words/said/said.ts'
import { NOTHING_BEFORE, sha256 } from './chain.ts'
import { upgradedValue } from './older-values.ts'

/** A journal as it was read: every whole line, proved to hang together. */
export interface ReadJournal {
  readonly lines: readonly JournalLine[]
  /** SHA-256 of the last whole line. */
  readonly head: string
  /** Bytes of the whole lines, newlines included. */
  readonly bytes: number
  /** Bytes after the last newline: a line that a crash cut off. Recognised and said; nothing of it was ever called captured. */
  readonly torn: Buffer
}

/** Reads a journal and holds every line against the one before. Throws RECORD_MISSING, RECORD_BROKEN with the line's number. */
export function readJournal(file: string): ReadJournal {
  let text: Buffer
  try {
    text = readFileSync(file)
  } catch (error) {
    throw new BenchError('RECORD_MISSING', file, said('record.cannot-be-opened'), error)
  }
  return parseJournal(text, file)
}

/** The same for bytes in hand; `file` is who is named in a fault. */
export function parseJournal(bytes: Buffer, file: string): ReadJournal {
  const end = bytes.lastIndexOf(10) + 1
  const lines: JournalLine[] = []
  let head = NOTHING_BEFORE
  const texts =
    end === 0
      ? []
      : bytes
          .subarray(0, end - 1)
          .toString('utf8')
          .split('\n')
  for (const [at, text] of texts.entries()) {
    const line = lineOf(text, at + 1, file)
    if (line.n !== at || line.prev !== head) throw broken(file, said('record.line-not-next', { line: at + 1 }))
    if ((line.kind === 'opened') !== (line.n === 0))
      throw broken(file, said('record.line-misplaced', { line: at + 1, kind: line.kind }))
    lines.push(line)
    head = sha256(text)
  }
  return { lines, head, bytes: end, torn: bytes.subarray(end) }
}

function lineOf(text: string, at: number, file: string): JournalLine {
  let json: unknown
  try {
    json = JSON.parse(text)
  } catch (error) {
    throw broken(file, said('record.line-not-json', { line: at }), error)
  }
  const parsed = JournalLine.safeParse(upgradedValue(json))
  if (parsed.success) return parsed.data
  const [first] = parsed.error.issues
  const [field, why] = [first?.path.join(' > ') ?? '', first?.message ?? '']
  throw broken(
    file,
    field === ''
      ? said('record.line-wrong-kind', { line: at, why })
      : said('record.line-wrong', { line: at, field, why }),
  )
}

function broken(file: string, happened: Said, cause?: unknown): BenchError {
  return new BenchError('RECORD_BROKEN', file, happened, cause)
}
