import { describe, expect, test } from 'vitest'
import { decodeReply } from '../../src/instrument/decode-reply.ts'
import type { Quantity } from '../../src/quantity/quantity.ts'
import { readingRow } from '../../src/schema/files/driver-rows.ts'

const row = (quantity: Quantity, more: Record<string, unknown>) =>
  readingRow(quantity).parse({
    ask: 'READ?',
    takes: '0.1 s',
    every: '0.1 s',
    noise: {},
    accuracy: {},
    page: '1',
    ...more,
  })

const plain = row('RF power', {
  unit: 'W',
  step: '0.01 W',
  least: '-1 W',
  most: '1 kW',
  tokens: { '----': 'no signal', OVLD: 'over' },
})
const dbm = row('RF power', { unit: 'dBm', step: '0.01 W' })
const tenths = row('RF power', { unit: 'dBm', scale: 0.1, step: '0.01 W' })
const second = row('DC voltage', { unit: 'mV', field: '2 of 3', step: '1 mV' })
const suffixed = row('DC voltage', { unit: 'V', 'unit after': 'VDC', step: '1 mV' })
const both = row('FM deviation', { unit: 'kHz', reply: 'two numbers', step: '10 Hz', least: '0 Hz' })
const letters = row('DC voltage', { unit: 'V', reply: 'letter after number', step: '1 mV' })

describe('a reply becomes a value in the unit of the quantity, or a named state, never something else', () => {
  test.each([
    ['a number', plain, '+3.85000000E+00', { value: 3.85, state: 'good' }],
    ['a number with blanks', plain, '  3.85 ', { value: 3.85, state: 'good' }],
    ['blank', plain, '   ', { value: null, state: 'blank' }],
    ['infinity', plain, '9.9E+37', { value: null, state: 'over' }],
    ['minus infinity', plain, '-9.9E37', { value: null, state: 'under' }],
    ['not a number', plain, '9.91E37', { value: null, state: 'not a number' }],
    ['a token', plain, '----', { value: null, state: 'no signal' }],
    ['another token', plain, 'OVLD', { value: null, state: 'over' }],
    ['an unknown word', plain, 'UNCAL', { value: null, state: 'unreadable' }],
    ['a decimal comma', plain, '3,85', { value: null, state: 'unreadable' }],
    ['the answer to a frequency question', plain, '1.465E+08', { value: null, state: 'unreadable' }],
    ['the name of a key of every object', plain, 'constructor', { value: null, state: 'unreadable' }],
    ['30 dBm', dbm, '30', { value: 1, state: 'good' }],
    ['tenths of a dBm', tenths, '+300', { value: 1, state: 'good' }],
    ['the second of three fields', second, '1,2500,3', { value: 2.5, state: 'good' }],
    ['two fields where three are due', second, '1,2500', { value: null, state: 'unreadable' }],
    ['a number with its unit', suffixed, '+2.40 VDC', { value: 2.4, state: 'good' }],
    ['a number without it', suffixed, '+2.40', { value: 2.4, state: 'good' }],
    ['a number with another unit', suffixed, '+2.40 MVDC', { value: null, state: 'unreadable' }],
    ['two numbers', both, '1.72,1.78', { value: 1780, state: 'good', parts: [1720, 1780] }],
    ['two numbers, one over', both, '9.9E37,1.78', { value: null, state: 'over' }],
    ['two numbers, one missing', both, '1.72,', { value: null, state: 'blank' }],
    ['one number where two are due', both, '1.72', { value: null, state: 'unreadable' }],
    ['two numbers, one below the least', both, '1.72,-1.78', { value: null, state: 'unreadable' }],
    ['a status letter', letters, '+2.40NVDC', { value: 2.4, state: 'good' }],
    ['a status letter that says overflow', letters, '+2.40OVDC', { value: null, state: 'over' }],
  ])('%s', (_name, asked, reply, expected) => {
    expect(decodeReply(asked, reply)).toEqual(expected)
  })
})
