import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { dbmToPd, dbmToWatts, dbRatio, pdFromEmf, pdToDbm, wattsToDbm } from '../../src/quantity/level.ts'
import levels from '../reference/rf_levels.json' with { type: 'json' }

// The tables are rounded: dBm to 4 decimals, volts to 9 decimals, microvolts to 6.
const HALF_DBM = 0.51e-4
const HALF_VOLT = 0.51e-9
const HALF_MICROVOLT = 0.51e-6

const table = readFileSync(new URL('../reference/dbm_table.csv', import.meta.url), 'utf8')
  .split('\n')
  .filter((line) => /^\d/.test(line))
  .map((line) => line.split(',').map(Number))
  .map(([watts = Number.NaN, dbm = Number.NaN, volts = Number.NaN]) => ({ watts, dbm, volts }))

function near(value: number, expected: number, within: number): void {
  expect(Math.abs(value - expected), `${value} against ${expected}`).toBeLessThanOrEqual(within)
}

test('the table of powers has 21 rows', () => {
  expect(table).toHaveLength(21)
})

describe.each(table)('$watts W, $dbm dBm, $volts V across 50 ohm', ({ watts, dbm, volts }) => {
  test('W to dBm', () => near(wattsToDbm(watts), dbm, HALF_DBM))
  test('dBm to W within the rounding of the dBm', () => near(dbmToWatts(dbm) / watts, 1, 1.2e-5))
  test('W by way of dBm to V', () => near(dbmToPd(wattsToDbm(watts)), volts, HALF_VOLT))
})

describe.each(levels.emf_to_dbm)('e.m.f. $emf_uv uV', ({ emf_uv, pd_uv, available_dbm_50ohm }) => {
  test(`is a p.d. of ${pd_uv} uV`, () => near(pdFromEmf(emf_uv), pd_uv, HALF_MICROVOLT))
  test(`is ${available_dbm_50ohm} dBm`, () => near(pdToDbm(pdFromEmf(emf_uv * 1e-6)), available_dbm_50ohm, HALF_DBM))
  test('dBm back to p.d.', () => near(dbmToPd(available_dbm_50ohm) * 1e6, pd_uv, 1e-5 * pd_uv))
})

test.each(levels.pd_to_dbm)('$pd_uv uV p.d. is $dbm_50ohm dBm', ({ pd_uv, dbm_50ohm }) => {
  near(pdToDbm(pd_uv * 1e-6), dbm_50ohm, HALF_DBM)
})

test.each([
  [4, 2, 3.0103],
  [1, 10, -10],
  [3.7, 2.4, 1.8799],
])('%d W over %d W is %d dB', (power, reference, db) => {
  near(dbRatio(power, reference), db, HALF_DBM)
})

test('0 W is -Infinity dBm, a power below 0 W is not a number of dBm', () => {
  expect(wattsToDbm(0)).toBe(Number.NEGATIVE_INFINITY)
  expect(wattsToDbm(-0.001)).toBeNaN()
  expect(pdToDbm(0)).toBe(Number.NEGATIVE_INFINITY)
})

test('dBm to W and to V and back is the same dBm within 1e-9 dB, -140 to 60 dBm', () => {
  fc.assert(
    fc.property(fc.double({ min: -140, max: 60, noNaN: true }), (dbm) => {
      near(wattsToDbm(dbmToWatts(dbm)), dbm, 1e-9)
      near(pdToDbm(dbmToPd(dbm)), dbm, 1e-9)
    }),
  )
})
