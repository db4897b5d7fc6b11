import fc from 'fast-check'
import { expect, test } from 'vitest'
import { readNumber } from '../../src/scpi/number.ts'
import vectors from '../reference/scpi_vectors.json' with { type: 'json' }

const good = (value: number) => ({ state: 'good', value })
const state = (named: string) => ({ state: named, value: null })

test.each([
  ['10', 10],
  ['-10.5', -10.5],
  ['+.5', 0.5],
  ['1.5E12', 1.5e12],
  ['-1 e 3', -1000],
  ['.2', 0.2],
  ['25E-2', 0.25],
  ['5.', 5],
  ['1E3', 1000],
  ['+ 3.7', 3.7],
  ['- 12', -12],
  ['-1.2e+003', -1.2],
  ['+1.46520000E+08', 146_520_000],
  [' 146520000', 146_520_000],
  ['\0\0 +1.5\0', 1.5],
  ['\t2.4\r', 2.4],
  ['0', 0],
  ['-0.0', 0],
  ['1E-400', 0],
])('%j is the number %f', (reply, value) => {
  expect(readNumber(reply)).toEqual(good(reply === '-1.2e+003' ? -1200 : value))
})

test.each(vectors.numbers.accept.map((reply) => [reply]))('the reference accepts %j, and so is it read', (reply) => {
  expect(readNumber(reply)).toEqual(good(Number(reply.replaceAll(' ', ''))))
})

test.each(Object.values(vectors.reply_forms.examples).flatMap((replies) => replies.map((reply) => [reply])))(
  'the reply form %j is read',
  (reply) => {
    expect(readNumber(reply)).toEqual(good(Number(reply)))
  },
)

test.each(vectors.numbers.reject.map((reply) => [reply]))('the reference rejects %j', (reply) => {
  expect(readNumber(reply)).toEqual(state('unreadable'))
})

test.each([
  ['13,60'],
  ['1.234,5'],
  ['1,2'],
  ['1.4652E8,HZ'],
  ['13.8 V'],
  ['13.8V'],
  [':FREQ 1.0E7'],
  ['OVLD'],
  ['----'],
  ['NAN'],
  ['INF'],
  ['Infinity'],
  ['0x10'],
  ['#H1F'],
  ['1e'],
  ['e3'],
  ['.'],
  ['+'],
  ['1.2.3'],
  ['1 2'],
  ['--1'],
  ['1;'],
  ['1_000'],
  ['١'],
])('%j is unreadable, not a number cut out of it', (reply) => {
  expect(readNumber(reply)).toEqual(state('unreadable'))
})

test.each([[''], [' '], ['\t \r'], ['\0\0']])('%j is blank, not zero', (reply) => {
  expect(readNumber(reply)).toEqual(state('blank'))
})

test.each([
  [vectors.special_values.INFinity, 'over'],
  [vectors.special_values.NINFinity, 'under'],
  [vectors.special_values.NaN, 'not a number'],
  ['9.90000E+37', 'over'],
  ['+9.8999998E+37', 'over'],
  ['9.90999979E+37', 'not a number'],
  ['9.91000009E+37', 'not a number'],
  ['-9.91E37', 'not a number'],
  ['9.92E37', 'over'],
  ['1E38', 'over'],
  ['-1E999', 'under'],
  ['1E400', 'over'],
])('%s is %s and has no value', (reply, named) => {
  expect(readNumber(reply)).toEqual(state(named))
})

test('8.9E37 is still a number', () => {
  expect(readNumber('8.9E37')).toEqual(good(8.9e37))
})

test('every finite number below the marks is read back from its own text', () => {
  fc.assert(
    fc.property(fc.double({ min: -8e37, max: 8e37, noNaN: true }), (value) => {
      const expected = good(value === 0 ? 0 : value)
      expect(readNumber(String(value))).toEqual(expected)
      expect(readNumber(value.toExponential())).toEqual(expected)
    }),
  )
})

test('no text at all throws, and only a good state has a value', () => {
  fc.assert(
    fc.property(fc.string({ unit: fc.constantFrom(...'0123456789+-.eE, \0\tNA') }), (reply) => {
      const read = readNumber(reply)
      expect(read.value === null).toBe(read.state !== 'good')
      expect(Number.isFinite(read.value ?? 0)).toBe(true)
    }),
  )
})
