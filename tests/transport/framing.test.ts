import { expect, test } from 'vitest'
import { openFraming } from '../../src/transport/framing.ts'

function listen(end: string) {
  const heard: string[] = []
  const framing = openFraming(end, { line: (text) => heard.push(text), tooLong: () => heard.push('TOO LONG') })
  return { heard, framing, push: (text: string) => framing.push(Buffer.from(text, 'latin1')) }
}

const MIXED = '\n+1.23\r\n\n\r\n12\xb0\n  \nlast\r\n'
const MIXED_LINES = ['+1.23', '12\xb0', '  ', 'last']

test.each(Array.from({ length: MIXED.length + 1 }, (_, at) => [at]))(
  'LF and CRLF mixed give the same lines split at byte %i, told before push returns',
  (at) => {
    const { heard, push } = listen('\n')
    push(MIXED.slice(0, at))
    push(MIXED.slice(at))
    expect(heard).toEqual(MIXED_LINES)
  },
)

test('two lines in the first chunk of a fresh parser stay two', () => {
  const { heard, push } = listen('\n')
  push('1\n2\n3\n')
  expect(heard).toEqual(['1', '2', '3'])
})

test('a half line is forgotten at a reset and is not the front of the next', () => {
  const { heard, framing, push } = listen('\n')
  push('+9.99E')
  framing.reset()
  push('+1.00E+00\n')
  expect(heard).toEqual(['+1.00E+00'])
})

test('a line over 4 KiB is told as too long, and the next line comes through', () => {
  const { heard, push } = listen('\r\n')
  push('x'.repeat(3000))
  push('x'.repeat(3000))
  push('x'.repeat(3000))
  push('tail\r\nok\r\n')
  expect(heard).toEqual(['TOO LONG', 'ok'])
})

test('1 MB in chunks of 64 bytes without an end costs less than 200 ms', () => {
  const { heard, framing } = listen('\n')
  const chunk = Buffer.alloc(64, 0x41)
  const began = process.cpuUsage()
  for (let sent = 0; sent < 1_000_000; sent += 64) framing.push(chunk)
  const { user, system } = process.cpuUsage(began)
  expect(heard).toEqual(['TOO LONG'])
  expect((user + system) / 1000).toBeLessThan(200)
})

test('1 MB of short lines costs less than 1 s and each is told', () => {
  const { heard, framing } = listen('\n')
  const chunk = Buffer.from('+1.234E+00\n'.repeat(100))
  const began = process.cpuUsage()
  for (let sent = 0; sent < 1_000_000; sent += chunk.length) framing.push(chunk)
  const { user, system } = process.cpuUsage(began)
  expect(heard.length).toBe(91_000)
  expect((user + system) / 1000).toBeLessThan(1000)
})
