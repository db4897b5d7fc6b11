import { readFileSync, writeFileSync } from 'node:fs'
import { gunzipSync, gzipSync } from 'node:zlib'
import { NOTHING_BEFORE, sha256 } from '../../src/course/parts.ts'

/** A course with its lines changed, in parts that hang together again: what only running it again can find. */
export function changedCourse(from: string, to: string, change: (line: string) => string): void {
  const lines = gunzipSync(readFileSync(from)).toString('utf8').trimEnd().split('\n')
  let prev = NOTHING_BEFORE
  const parts: Buffer[] = []
  let part: string[] = []
  const cut = () => {
    const text = `${part.join('\n')}\n`
    prev = sha256(text)
    parts.push(gzipSync(text))
  }
  for (const line of lines) {
    const { kind, ...rest } = JSON.parse(line)
    if (kind === 'part') {
      cut()
      part = [JSON.stringify({ kind, ...rest, prev })]
    } else part.push(change(line))
  }
  cut()
  writeFileSync(to, Buffer.concat(parts))
}
