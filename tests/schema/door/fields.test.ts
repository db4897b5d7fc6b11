import { describe, expect, test } from 'vitest'
import type { z } from 'zod'
import {
  calendarDay,
  duration,
  formatOne,
  lineEnd,
  oneOrList,
  plainNumber,
  quantityName,
  quantityText,
  wholeNumber,
  words,
  yesNo,
} from '../../../src/schema/door/fields.ts'
import { wordsIn } from '../../../src/schema/door/in-message.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'

const refusalOf = (schema: z.ZodType, input: unknown) =>
  schema.safeParse(input).error?.issues.map((issue) => sentence(wordsIn(issue.message)))

describe('a field is read into SI', () => {
  test.each<[string, z.ZodType, unknown, unknown]>([
    ['a voltage', quantityText('V'), '13.8 V', 13.8],
    ['a voltage in millivolts', quantityText('V'), '30 mV', 0.03],
    ['a share in per cent', quantityText('ratio'), '2.5 %', 0.025],
    ['a share in ppm', quantityText('ratio'), '0.5 ppm', 0.5e-6],
    ['a duration', duration(), '0.25 s', 250],
    ['a duration in ms', duration(), '50 ms', 50],
    ['a whole number', wholeNumber(0, 9), 3, 3],
    ['a whole number written as text', wholeNumber(0, 100), '007', 7],
    ['a plain number', plainNumber(), '1.60', 1.6],
    ['a plain number with an exponent', plainNumber(), '1e-3', 0.001],
    ['text that is a number', words(), 20, '20'],
    ['yes', yesNo(), 'yes', true],
    ['no', yesNo(), 'no', false],
    ['true', yesNo(), true, true],
    ['a leap day', calendarDay(), '2028-02-29', '2028-02-29'],
    ['CR LF', lineEnd(), 'CR LF', '\r\n'],
    ['a quantity', quantityName(), 'RF power', 'RF power'],
    ['one entry', oneOrList(words()), 'a', ['a']],
    ['a list', oneOrList(words()), ['a', 'b'], ['a', 'b']],
    ['format 1', formatOne(), 1, 1],
  ])('%s', (_name, schema, input, expected) => {
    expect(schema.parse(input)).toEqual(expected)
  })
})

describe('a field that is not right is refused in words', () => {
  test.each<[string, z.ZodType, unknown, string]>([
    ['no unit', quantityText('V'), 13.8, '"13.8" has no unit: write V, mV, uV, nV, kV or dBm behind it'],
    ['below the least', quantityText('V', { least: 1 }), '0.5 V', 'read "0.5 V"; expected at least 1 V'],
    ['above the most', duration({ most: 600 }), '20 min', 'read "20 min"; expected at most 600 s'],
    ['a list for a value', quantityText('W'), [3], 'expected a value in W, for example 3.85 W'],
    ['a fraction for a whole number', wholeNumber(0, 9), '1.5', 'read "1.5"; expected a whole number from 0 to 9'],
    ['a whole number outside', wholeNumber(0, 9), 10, 'read "10"; expected a whole number from 0 to 9'],
    ['words for a number', plainNumber(), 'NaN', 'read "NaN"; expected a number'],
    ['a hexadecimal number', plainNumber(), '0x10', 'read "0x10"; expected a number'],
    ['maybe', yesNo(), 'maybe', 'expected yes or no'],
    [
      'a day that does not exist',
      calendarDay(),
      '2027-02-29',
      'read "2027-02-29"; expected a day of the calendar like 2027-03-31',
    ],
    [
      'a day in another order',
      calendarDay(),
      '31.03.2027',
      'read "31.03.2027"; expected a day of the calendar like 2027-03-31',
    ],
    ['too much text', words(3), 'four', 'has 4 characters; at most 3'],
    ['no format', formatOne(), undefined, 'Invalid input: expected 1'],
  ])('%s', (_name, schema, input, words) => {
    expect(refusalOf(schema, input)).toEqual([words])
  })
})
