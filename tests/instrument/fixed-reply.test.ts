import { describe, expect, test } from 'vitest'
import { decodeReply } from '../../src/instrument/decode-reply.ts'
import { loadDriver } from '../../src/instrument/load-driver.ts'

const [row] = loadDriver('drivers', 'power-meter-older').readings
if (!row) throw new TypeError('the older power meter reads something')
const read = (reply: string) => decodeReply(row, reply)
const UNREADABLE = { value: null, state: 'unreadable' }

describe('each status letter', () => {
  test.each([
    ['N normal', 'N  003.85W', { value: 3.85, state: 'good' }],
    ['N in milliwatts', 'N  0850.0m', { value: 0.85, state: 'good' }],
    ['O over', 'O  ------W', { value: null, state: 'over' }],
    ['O with digits frozen at full scale', 'O  100.00W', { value: null, state: 'over' }],
    ['U under', 'U  ------m', { value: null, state: 'under' }],
    ['S no signal', 'S  ------W', { value: null, state: 'no signal' }],
    ['S with digits', 'S  003.85W', { value: null, state: 'no signal' }],
    ['H held', 'H  003.85W', { value: null, state: 'stale' }],
  ])('%s', (_name, reply, expected) => {
    expect(read(reply)).toEqual(expected)
  })

  const known = new Set('NOUSH')
  const others = Array.from({ length: 95 }, (_, code) => String.fromCharCode(32 + code)).filter(
    (one) => !known.has(one),
  )
  test.each(others)('"%s" is none of them: unreadable', (letter) => {
    expect(read(`${letter}  003.85W`)).toEqual(UNREADABLE)
  })
})

describe('a reply that is not whole is never a number', () => {
  const WHOLE = 'N  003.85W'
  test.each(Array.from({ length: WHOLE.length }, (_, at) => at))('cut after %d characters', (at) => {
    expect(read(WHOLE.slice(0, at))).toEqual(UNREADABLE)
    expect(read(WHOLE.slice(WHOLE.length - at))).toEqual(UNREADABLE)
  })
  test.each(Array.from({ length: WHOLE.length + 1 }, (_, at) => at))('one character too many at %d', (at) => {
    expect(read(`${WHOLE.slice(0, at)}0${WHOLE.slice(at)}`)).toEqual(UNREADABLE)
  })
  test.each([
    ['dashes where it says normal', 'N  ------W'],
    ['two points', 'N  0.3.85W'],
    ['a unit that it does not have', 'N  003.85k'],
    ['no unit', 'N  003.85 '],
    ['more than it can measure', 'N  999.99W'],
    ['a decimal comma', 'N  003,85W'],
  ])('%s', (_name, reply) => {
    expect(read(reply)).toEqual(UNREADABLE)
  })
  test('an empty number is blank', () => {
    expect(read('N        W')).toEqual({ value: null, state: 'blank' })
  })
})
