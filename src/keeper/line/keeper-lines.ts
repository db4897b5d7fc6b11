import type { Readable } from 'node:stream'

/** A line longer than this is no message between service and keeper, characters. */
const LONGEST_LINE = 64 * 1024

/** Hands over each line of `stream` without its end, then `ended` once. Lines that are too long are dropped. */
export function readLines(stream: Readable, line: (text: string) => void, ended: () => void): void {
  let rest = ''
  let over = false
  const end = () => {
    if (over) return
    over = true
    ended()
  }
  stream.setEncoding('utf8')
  stream.on('data', (chunk: string) => {
    const parts = (rest + chunk).split('\n')
    rest = parts.pop() ?? ''
    for (const part of parts) if (part !== '' && part.length <= LONGEST_LINE) line(part)
    if (rest.length > LONGEST_LINE) rest = ' '.repeat(LONGEST_LINE + 1) // too long already, whatever follows
  })
  stream.on('end', end)
  stream.on('close', end)
  stream.on('error', end)
}
