import { createHash } from 'node:crypto'
import { promisify } from 'node:util'
import { gzip } from 'node:zlib'

/** SHA-256 in hex (FIPS 180-4). */
export function sha256(text: string): string {
  return createHash('sha256').update(text).digest('hex')
}

/** A part of a course: its lines, compressed (one gzip member, RFC 1952). */
export interface Part {
  /** From 0, which is the head. */
  readonly n: number
  readonly endsMs: number
  readonly bytes: Buffer
}

export const NOTHING_BEFORE = '0'.repeat(64)
const compress = promisify(gzip)

/** Lines in parts, each holding the hash of the text before, so that a file that was changed or lost its middle is known. */
export interface PartMaker {
  add(line: string): void
  /** Characters that are not in a part yet. */
  waiting(): number
  /** What waits becomes a part. */
  cut(nowMs: number): void
  /** Every part that was cut is made. */
  made(): Promise<void>
  /** A part that would end the course here; more may come nevertheless. */
  ending(line: string): Promise<Buffer>
}

/** `to` gets the parts in their order. A part that cannot be made or taken is told once to `failed`; no more come then. */
export function partMaker(to: (part: Part) => Promise<void> | void, failed: (error: unknown) => void): PartMaker {
  let lines: string[] = []
  let size = 0
  let n = 0
  let prev = NOTHING_BEFORE
  let chain: Promise<void> = Promise.resolve()
  let over = false
  return {
    add: (line) => {
      if (over) return
      lines.push(line)
      size += line.length
    },
    waiting: () => size,
    cut: (nowMs) => {
      if (lines.length === 0) return
      const mark = n === 0 ? [] : [JSON.stringify({ kind: 'part', n, prev })]
      const text = `${[...mark, ...lines].join('\n')}\n`
      const own = n
      prev = sha256(text)
      n += 1
      lines = []
      size = 0
      chain = chain
        .then(async () => {
          if (over) return
          await to({ n: own, endsMs: nowMs, bytes: await compress(text) })
        })
        .catch((error: unknown) => {
          over = true
          failed(error)
        })
    },
    made: () => chain,
    ending: (line) => compress(`${[JSON.stringify({ kind: 'part', n, prev }), line].join('\n')}\n`),
  }
}
