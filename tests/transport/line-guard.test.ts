import { expect, test } from 'vitest'
import { LONGEST_LINE_BYTES, lineGuard } from '../../src/transport/line-guard.ts'

/** What a parser behind the guard would hold as lines, with "TOO LONG" where the guard threw one away. */
function through(end: string, longest: number, chunks: readonly string[]): string[] {
  const lines: string[] = []
  let held = ''
  const push = lineGuard(Buffer.from(end, 'latin1'), longest, {
    pass: (bytes) => {
      const parts = (held + bytes.toString('latin1')).split(end)
      held = parts.pop() ?? ''
      lines.push(...parts)
    },
    tooLong: () => {
      held = ''
      lines.push('TOO LONG')
    },
  })
  for (const chunk of chunks) push(Buffer.from(chunk, 'latin1'))
  return held === '' ? lines : [...lines, `rest:${held}`]
}

const STREAMS: readonly [string, string, string, readonly string[]][] = [
  ['\\n', '\n', 'ab\n\n12345678\n123456789\ncd\ne', ['ab', '', '12345678', 'TOO LONG', 'cd', 'rest:e']],
  ['\\r\\n', '\r\n', 'ab\r\n1234\r678\r\n123456789\r\n\r\ncd\r\n', ['ab', '1234\r678', 'TOO LONG', '', 'cd']],
  ['\\r\\n, too long by far', '\r\n', '1234567890\r1234567890\n\r\r\nxy\r\n', ['TOO LONG', 'xy']],
  ['\\r', '\r', '1234567890123\rok\r', ['TOO LONG', 'ok']],
]
const SPLITS = STREAMS.flatMap(([name, end, stream, lines]) =>
  Array.from({ length: stream.length + 1 }, (_, at) => [name, at, end, stream, lines] as const),
)

test.each(SPLITS)('lines ending in %s are the same when the bytes are split at %i', (_, at, end, stream, lines) => {
  expect(
    through(
      end,
      8,
      [stream.slice(0, at), stream.slice(at)].filter((chunk) => chunk !== ''),
    ),
  ).toEqual(lines)
})

test.each(SPLITS)(
  'lines ending in %s are the same when the bytes are split at %i and 1 or 2 later',
  (_, at, end, stream, lines) => {
    for (const more of [1, 2]) {
      const pieces = [stream.slice(0, at), stream.slice(at, at + more), stream.slice(at + more)]
      expect(
        through(
          end,
          8,
          pieces.filter((piece) => piece !== ''),
        ),
      ).toEqual(lines)
    }
  },
)

test.each(STREAMS)('lines ending in %s are the same byte by byte', (_, end, stream, lines) => {
  expect(through(end, 8, stream.split(''))).toEqual(lines)
})

test('a line of 4096 bytes passes and one of 4097 does not', () => {
  const line = '1'.repeat(LONGEST_LINE_BYTES)
  expect(through('\n', LONGEST_LINE_BYTES, [`${line}\n`])).toEqual([line])
  expect(through('\n', LONGEST_LINE_BYTES, [`${line}1\n`])).toEqual(['TOO LONG'])
})

test('a chunk that is one whole line is handed on without a copy', () => {
  const passed: Buffer[] = []
  const push = lineGuard(Buffer.from('\n'), 100, { pass: (bytes) => passed.push(bytes), tooLong: () => {} })
  const chunk = Buffer.from('+1.38E+01\n')
  push(chunk)
  expect(passed[0]).toBe(chunk)
})
