import { ReadlineParser } from '@serialport/parser-readline'
import { LONGEST_LINE_BYTES, lineGuard } from './line-guard.ts'

/** Cuts a stream of bytes into lines, told at once, within `push`. */
export interface Framing {
  push(bytes: Buffer): void
  /** Forgets the line that has begun: a half line of before must never become the front of the next reply. */
  reset(): void
}

/** Who is told of lines, and of lines over 4 KiB, which are thrown away up to their end. */
export interface LineListener {
  line(text: string): void
  tooLong(): void
}

/** Lines end with `end` exactly; CR, LF around a line are taken off (LF + reply + CRLF is common), and a line of nothing else is none. */
export function openFraming(end: string, to: LineListener): Framing {
  const endBytes = Buffer.from(end, 'latin1')
  let parser: ReadlineParser
  let guard: (bytes: Buffer) => void

  const onLine = (text: string) => {
    const line = withoutEnds(text)
    if (line !== '') to.line(line)
  }

  const renew = () => {
    parser?.removeAllListeners('data')
    // A transform stream hands its lines over within write(), one by one, as long as a data listener is there from the start.
    parser = new ReadlineParser({ delimiter: endBytes, encoding: 'latin1' })
    parser.on('data', onLine)
  }

  const reset = () => {
    renew()
    guard = lineGuard(endBytes, LONGEST_LINE_BYTES, {
      pass: (bytes) => parser.write(bytes),
      tooLong: () => {
        renew()
        to.tooLong()
      },
    })
  }

  reset()
  return { push: (bytes) => guard(bytes), reset }
}

/** Found from both sides, since a pattern would try each end inside as well. */
function withoutEnds(text: string): string {
  let from = 0
  let to = text.length
  while (from < to && isEnd(text.charCodeAt(from))) from += 1
  while (to > from && isEnd(text.charCodeAt(to - 1))) to -= 1
  return from === 0 && to === text.length ? text : text.slice(from, to)
}

function isEnd(code: number): boolean {
  return code === 13 || code === 10
}
