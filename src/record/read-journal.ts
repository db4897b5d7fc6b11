import { readFileSync } from 'node:fs'
import { BenchError } from '../fault/bench-error.ts'
import { JournalLine } from '../schema/kept/record.ts'
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
    throw new BenchError('RECORD_MISSING', file, 'it could not be opened', error)
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
  for (const text of texts) {
    const line = lineOf(text, lines.length, file)
    if (line.n !== lines.length || line.prev !== head)
      throw broken(file, lines.length, 'does not follow the one before: a line was changed, added or taken out')
    if ((line.kind === 'opened') !== (line.n === 0)) throw broken(file, line.n, `"${line.kind}" does not stand there`)
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
    throw broken(file, at, 'is not JSON', error)
  }
  const parsed = JournalLine.safeParse(upgradedValue(json))
  if (parsed.success) return parsed.data
  const [first] = parsed.error.issues
  throw broken(file, at, `has ${first?.path.join(' > ') || 'a kind'} that is not right: ${first?.message ?? ''}`)
}

function broken(file: string, at: number, what: string, cause?: unknown): BenchError {
  return new BenchError('RECORD_BROKEN', file, `line ${at + 1} ${what}`, cause)
}
