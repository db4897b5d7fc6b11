import { readFileSync } from 'node:fs'
import { expect, test } from 'vitest'
import { compilePattern, headerFits, parseUnit, splitMessage, walkTree } from '../../mocks/unit/command-parser.ts'
import { createErrorQueue, ERROR_TEXTS } from '../../mocks/unit/error-queue.ts'
import { nr3, parseBoolean, parseNumber, type SuffixUnit } from '../../mocks/unit/program-data.ts'
import { eventBit } from '../../mocks/unit/status.ts'
import vectors from '../reference/scpi_vectors.json'

const rows = (table: readonly (readonly unknown[])[]) => table.map((row) => ({ row }))

test('the header table has 92 rows', () => {
  expect(vectors.header_match.rows).toHaveLength(92)
})

test.each(rows(vectors.header_match.rows))('header row $row', ({ row }) => {
  expect(headerFits(compilePattern(String(row[0])), String(row[1]))).toBe(row[2])
})

test.each(rows(vectors.numeric_suffix.rows))('suffix row $row: a missing number means 1', ({ row }) => {
  expect(headerFits(compilePattern(String(row[0])), String(row[1]))).toBe(row[2])
})

test.each(rows(vectors.tree_walk.rows))('tree row $row', ({ row }) => {
  const tree = Object.entries(vectors.tree_walk.tree).map(([text, value]) => ({ pattern: compilePattern(text), value }))
  const units = splitMessage(String(row[0]))
  if (!units.ok) throw new TypeError('not split')
  let path = ''
  const replies = units.value.map((text) => {
    const unit = parseUnit(text)
    if (!unit.ok) throw new TypeError(`not a unit: ${text}`)
    const walked = walkTree(path, unit.value.header)
    path = walked.path
    return tree.find(({ pattern }) => headerFits(pattern, `${walked.header}?`))?.value
  })
  expect(replies.join(';')).toBe(row[1])
})

const WRITTEN: Readonly<Record<string, number>> = {
  '10': 10,
  '-10.5': -10.5,
  '+.5': 0.5,
  '1.5E12': 1.5e12,
  '-1 e 3': -1000,
  '.2': 0.2,
  '25E-2': 0.25,
}

test.each(vectors.numbers.accept)('the number %j is taken at its value', (text) => {
  expect(parseNumber(text, 'none')).toEqual({ ok: true, value: WRITTEN[text] })
})

test.each(vectors.numbers.reject)('%j is not a number', (text) => {
  expect(parseNumber(text, 'none').ok).toBe(false)
})

test.each(rows(vectors.numbers.nondecimal))('non-decimal row $row', ({ row }) => {
  expect(parseNumber(String(row[0]), 'none')).toEqual({ ok: true, value: row[1] })
})

test('numbers beyond the limits of the standard have their own error numbers', () => {
  expect(parseNumber('1E32001', 'none')).toEqual({ ok: false, error: -123 })
  expect(parseNumber('1'.repeat(256), 'none')).toEqual({ ok: false, error: -124 })
  expect(parseNumber('1 ABCDEFGHIJKLM', 'V')).toEqual({ ok: false, error: -134 })
  expect(parseNumber('1 V', 'none')).toEqual({ ok: false, error: -138 })
  expect(parseNumber('1 W', 'V')).toEqual({ ok: false, error: -131 })
  expect(parseNumber('VOLT', 'V')).toEqual({ ok: false, error: -104 })
  expect(parseUnit('ABCDEFGHIJKLM?')).toEqual({ ok: false, error: -112 })
})

const isUnit = (text: unknown): text is SuffixUnit =>
  typeof text === 'string' && ['HZ', 'V', 'A', 'W', 'S', 'OHM', 'ratio', 'dBm'].includes(text)

test.each(rows(vectors.units.rows))('unit row $row', ({ row }) => {
  const [text, unit, expected] = row
  if (!isUnit(unit)) throw new TypeError(`not a unit: ${String(unit)}`)
  const parsed = parseNumber(String(text), unit)
  expect(parsed.ok && parsed.value / Number(expected)).toBeCloseTo(1, 12)
})

test('the error queue with room for 3 reads -100 -200 -350 0 after four errors', () => {
  const { depth, pushed, read } = vectors.error_queue.overflow_example
  const queue = createErrorQueue(depth)
  for (const code of pushed) queue.push(code)
  expect(queue.count()).toBe(3)
  expect(read.map(() => Number.parseInt(queue.next(), 10))).toEqual(read)
  expect(queue.next()).toBe(vectors.error_queue.empty)
})

test('the error queue adds what it was about, quotes made harmless', () => {
  const queue = createErrorQueue(5)
  queue.push(-113, 'FOO "BAR"?')
  queue.push(-222)
  expect(queue.all()).toBe(`-113,"Undefined header;FOO 'BAR'?",-222,"Data out of range"`)
  expect(queue.all()).toBe('0,"No error"')
})

const errorRows = readFileSync(new URL('../reference/scpi_errors.csv', import.meta.url), 'utf8')
  .trim()
  .split('\n')
  .filter((line) => !line.startsWith('#'))
  .slice(1)
  .map((line) => line.split(','))

test.each(Object.entries(ERROR_TEXTS))('error %s has the text of the standard and its status bit', (code, text) => {
  const row = errorRows.find(([number]) => number === code)
  expect(row?.[1]).toBe(text)
  expect(eventBit(Number(code))).toBe(Number(row?.[4] || 0))
})

test.each([
  [3.85e-3, 3, '+3.850E-03'],
  [-0.5, 2, '-5.00E-01'],
  [0, 3, '+0.000E+00'],
  [27205123, 7, '+2.7205123E+07'],
  [Number.NaN, 3, '+9.91E+37'],
  [Number.POSITIVE_INFINITY, 3, '+9.9E+37'],
  [Number.NEGATIVE_INFINITY, 3, '-9.9E+37'],
])('%f with %i digits is sent as %s', (value, digits, text) => {
  expect(nr3(value, digits)).toBe(text)
})

test('on and off are words or numbers', () => {
  expect(['ON', 'off', '1', '0', '2.6', '0.4'].map((text) => parseBoolean(text))).toEqual(
    [true, false, true, false, true, false].map((value) => ({ ok: true, value })),
  )
  expect(parseBoolean('MAYBE')).toEqual({ ok: false, error: -104 })
})

test('units are split at semicolons and parameters at commas outside quotes', () => {
  expect(splitMessage(`DISP "a;b";*OPC?`)).toEqual({ ok: true, value: ['DISP "a;b"', '*OPC?'] })
  expect(parseUnit(`DISP "a,b", 2`)).toEqual({
    ok: true,
    value: { header: 'DISP', query: false, parameters: ['"a,b"', '2'] },
  })
  expect(splitMessage(`DISP 'abc`)).toEqual({ ok: false, error: -151 })
  expect(parseUnit('VOLT?1')).toEqual({ ok: false, error: -111 })
  expect(parseUnit('VOLT 1,,2')).toEqual({ ok: false, error: -103 })
  expect(parseUnit('#?')).toEqual({ ok: false, error: -101 })
})
