import { describe, expect, test } from 'vitest'
import { readAmount } from '../../src/quantity/amount.ts'
import type { Unit } from '../../src/quantity/quantity.ts'
import { EXAMPLES, scaleOf, spellingsOf } from '../../src/quantity/unit-spelling.ts'

const UNITS: readonly Unit[] = ['Hz', 'W', 'V', 'A', 'ohm', 's', 'ratio', 'dB', 'S']

// What each spelling is worth, typed here a second time from the SI table of prefixes.
test.each<readonly [unit: Unit, spelling: string, times: bigint, exponent: number]>([
  ['Hz', 'Hz', 1n, 0],
  ['Hz', 'kHz', 1n, 3],
  ['Hz', 'MHz', 1n, 6],
  ['Hz', 'GHz', 1n, 9],
  ['W', 'W', 1n, 0],
  ['W', 'mW', 1n, -3],
  ['W', 'uW', 1n, -6],
  ['W', 'nW', 1n, -9],
  ['W', 'pW', 1n, -12],
  ['W', 'kW', 1n, 3],
  ['V', 'V', 1n, 0],
  ['V', 'mV', 1n, -3],
  ['V', 'uV', 1n, -6],
  ['V', 'nV', 1n, -9],
  ['V', 'kV', 1n, 3],
  ['A', 'A', 1n, 0],
  ['A', 'mA', 1n, -3],
  ['A', 'uA', 1n, -6],
  ['A', 'nA', 1n, -9],
  ['ohm', 'ohm', 1n, 0],
  ['ohm', 'mohm', 1n, -3],
  ['ohm', 'kohm', 1n, 3],
  ['ohm', 'Mohm', 1n, 6],
  ['s', 's', 1n, 0],
  ['s', 'ms', 1n, -3],
  ['s', 'us', 1n, -6],
  ['s', 'ns', 1n, -9],
  ['s', 'min', 60n, 0],
  ['ratio', '%', 1n, -2],
  ['ratio', 'ppm', 1n, -6],
  ['ratio', 'ppb', 1n, -9],
  ['dB', 'dB', 1n, 0],
  ['S', 'S', 1n, 0],
])('in %s, %s is %d x 10^%d', (unit, spelling, times, exponent) => {
  expect(scaleOf(spelling, unit)).toEqual({ scale: { kind: 'factor', times, exponent } })
})

test('W and V have 13 spellings between them, the dBm among them; all units 35', () => {
  expect(spellingsOf('W')).toBe('W, mW, uW, nW, pW, kW or dBm')
  expect(spellingsOf('V')).toBe('V, mV, uV, nV, kV or dBm')
  expect(UNITS.flatMap((unit) => spellingsOf(unit).split(/, | or /))).toHaveLength(35)
})

describe.each(UNITS)('of %s', (unit) => {
  test('the example of its refusals can be read', () => {
    expect(readAmount(EXAMPLES[unit], unit).ok).toBe(true)
  })

  test('a spelling with the wrong capitals is refused and the right one named', () => {
    const right = spellingsOf(unit).split(/, | or /)
    const swapped = right.map((one) => ({
      one,
      other: one === one.toUpperCase() ? one.toLowerCase() : one.toUpperCase(),
    }))
    const loose = swapped.filter(({ other }) => !right.includes(other))
    const answers = loose.map(({ other }) => scaleOf(other, unit))
    expect(
      answers.map((answer, place) => 'wrong' in answer && answer.wrong.includes(loose[place]?.one ?? '?')),
    ).toEqual(loose.map(() => true))
  })
})
