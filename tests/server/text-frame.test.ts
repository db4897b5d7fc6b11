import { expect, test } from 'vitest'
import { textFrame } from '../../src/server/text-frame.ts'

// RFC 6455, 5.2 and 5.7: a single unmasked text frame "Hello" is 81 05 48 65 6c 6c 6f.
test('frames the Hello of RFC 6455, 5.7 as it stands there', () => {
  expect(Buffer.from(textFrame('Hello')).toString('hex')).toBe('810548656c6c6f')
})

test.each([
  [0, '8100'],
  [125, '817d'],
  [126, '817e007e'],
  [65_535, '817effff'],
  [65_536, '817f0000000000010000'],
  [1_000_000, '817f00000000000f4240'],
])('says a length of %i bytes in the shortest form', (length, head) => {
  const frame = Buffer.from(textFrame('x'.repeat(length)))
  expect(frame.subarray(0, head.length / 2).toString('hex')).toBe(head)
  expect(frame.subarray(head.length / 2).toString()).toBe('x'.repeat(length))
})

test('counts bytes, not letters: 63 times "ü" are 126 bytes', () => {
  const frame = Buffer.from(textFrame('ü'.repeat(63)))
  expect(frame.subarray(0, 4).toString('hex')).toBe('817e007e')
  expect(frame.length).toBe(130)
})
