import { readFileSync } from 'node:fs'
import { expect, test } from 'vitest'
import { drainErrors, readError } from '../../src/scpi/error-queue.ts'
import { standardError } from '../../src/scpi/standard-errors.ts'

// Numbers, texts and classes READ in two open-source SCPI libraries; -256, -257 and -300 have a second spelling elsewhere.
const ROWS = readFileSync(new URL('../reference/scpi_errors.csv', import.meta.url), 'utf8')
  .split('\n')
  .filter((row) => !row.startsWith('#'))
  .slice(1)
  .filter((row) => row !== '')
  .map((row) => row.split(','))

test('the reference holds 122 error numbers', () => {
  expect(ROWS).toHaveLength(122)
})

test.each(ROWS)('error %s is "%s", a %s', (code, text, kind, bit, mask) => {
  const eventBit = bit === '' ? null : Number(bit)
  expect(standardError(Number(code))).toEqual({ text, kind, eventBit })
  if (eventBit !== null) expect(2 ** eventBit).toBe(Number(mask))
})

test('a positive number is the instrument’s own and sets the device bit', () => {
  expect(standardError(101)).toEqual({ text: '', kind: 'device-specific error', eventBit: 3 })
  expect(standardError(-950)).toEqual({ text: '', kind: 'not standard', eventBit: null })
})

const undefinedHeader = { number: -113, text: 'Undefined header', detail: '', kind: 'command error' }
const none = { number: 0, text: 'No error', detail: '', kind: 'no error' }

test.each([
  ['0,"No error"', none],
  ['+0,"No error"', none],
  ['0, No error', none],
  ['0,No error', none],
  ['0,"No Error"', { ...none, text: 'No Error' }],
  ['0', none],
  ['+0', none],
  ['0,""', none],
  [' 0 , "No error" ', none],
  ['0 "No error"', none],
  ['-113,"Undefined header"', undefinedHeader],
  ["-113,'Undefined header'", undefinedHeader],
  ['-113,Undefined header', undefinedHeader],
  ['-113', undefinedHeader],
  ['-113,"Undefined header', undefinedHeader],
  [':SYST:ERR -113,"Undefined header"', undefinedHeader],
  ['-113,"Undefined header;FREX?"', { ...undefinedHeader, detail: 'FREX?' }],
  [
    '-222,"Data out of range; VOLT 99, max 16"',
    { number: -222, text: 'Data out of range', detail: 'VOLT 99, max 16', kind: 'execution error' },
  ],
  ['+301,"Say ""please"""', { number: 301, text: 'Say "please"', detail: '', kind: 'device-specific error' }],
])('%j is read', (reply, error) => {
  expect(readError(reply)).toEqual(error)
})

test.each([[''], ['No error'], ['+1.38E+01'], ['13.8'], ['1,2,3'.replace('1,', 'A,')], ['0x1,"a"'], ['123456,"a"']])(
  '%j is no item of an error queue',
  (reply) => {
    expect(readError(reply)).toBeNull()
  },
)

/** Runs a drain against a list of replies; what lies behind its end repeats. */
function drained(replies: readonly string[]) {
  const asked: string[] = []
  const drain = drainErrors()
  let step = drain.next()
  while (!step.done) {
    asked.push(step.value)
    step = drain.next(replies[Math.min(asked.length, replies.length) - 1] ?? '')
  }
  return { ...step.value, asked: asked.length, question: asked[0] }
}

test('a queue of two is drained with three questions, first in first out', () => {
  const { errors, ended, asked, question } = drained([
    '-222,"Data out of range"',
    '-113,"Undefined header"',
    '0,"No error"',
  ])
  expect({ numbers: errors.map((error) => error.number), ended, asked, question }).toEqual({
    numbers: [-222, -113],
    ended: 'empty',
    asked: 3,
    question: 'SYST:ERR?',
  })
})

test('an error that comes back for ever ends after 50 questions', () => {
  const { errors, ended, asked } = drained(['-350,"Queue overflow"'])
  expect([errors.length, ended, asked]).toEqual([50, 'never empty', 50])
})

test('a reply that is no item ends the drain and is kept as it came', () => {
  const { errors, ended, raw } = drained(['-222,"Data out of range"', '+1.38E+01'])
  expect([errors.length, ended, raw]).toEqual([1, 'unreadable', '+1.38E+01'])
})
