import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import {
  carrierWatts,
  depthDown,
  depthFromPower,
  depthOf,
  depthUp,
  modulatedWatts,
  pepWatts,
  sidebandDb,
  upFromPep,
} from '../../../src/core/radio/am.ts'
import set from '../../reference/invented_set.json' with { type: 'json' }
import vectors from '../../reference/rf_vectors.json' with { type: 'json' }

describe.each(vectors.am_depth.rows)('AM depth $m (COMPUTED; tests/reference/rf_vectors.json)', (row) => {
  test(`mean power ${row.p_total_over_pc} of the carrier, and back`, () => {
    expect(modulatedWatts(1, row.m)).toBeCloseTo(row.p_total_over_pc, 6)
    expect(depthFromPower(4 * row.p_total_over_pc, 4)).toBeCloseTo(row.m, 6)
    expect(Math.sqrt(modulatedWatts(1, row.m))).toBeCloseTo(row.antenna_current_ratio, 6)
  })
  test(`peak envelope power ${row.pep_over_pc} of the carrier, and back both ways`, () => {
    expect(pepWatts(1, row.m)).toBeCloseTo(row.pep_over_pc, 6)
    expect(carrierWatts(row.pep_over_pc, row.m)).toBeCloseTo(1, 6)
    expect(upFromPep(row.pep_over_pc, 1)).toBeCloseTo(row.m, 6)
  })
  test(`each sideband ${row.sideband_dbc} dB`, () => {
    expect(Math.abs(sidebandDb(row.m) - row.sideband_dbc)).toBeLessThan(0.51e-4)
  })
})

test.each(vectors.am_depth.envelope_examples)(
  'an envelope from $emin to $emax is a depth of $m',
  ({ emax, emin, m }) => {
    expect(depthOf(emax, emin)).toBeCloseTo(m, 12)
    // both sides of a carrier of 1 are alike here, so each alone says the same
    expect(depthUp(emax, 1)).toBeCloseTo(m, 12)
    expect(depthDown(1, emin)).toBeCloseTo(m, 12)
  },
)

test('a lopsided envelope: 95 % up and 80 % down from a carrier of 2 V', () => {
  expect(depthUp(3.9, 2)).toBeCloseTo(0.95, 12)
  expect(depthDown(2, 0.4)).toBeCloseTo(0.8, 12)
})

test.each(set.am_room)(
  'a stage good for $pep_w W at its best has room for $percent % over a carrier of $carrier_w W',
  (row) => {
    expect(Math.abs(100 * upFromPep(row.pep_w, row.carrier_w) - row.percent)).toBeLessThan(0.51)
  },
)

test('power that falls with modulation has no depth', () => {
  expect(depthFromPower(3.9, 4)).toBeNaN()
})

test('depth upward, carrier and peak envelope power lead back to each other to 1e-12', () => {
  fc.assert(
    fc.property(
      fc.double({ min: 0.01, max: 100, noNaN: true }),
      fc.double({ min: 0.01, max: 1.5, noNaN: true }),
      (carrier, up) => {
        const pep = pepWatts(carrier, up)
        expect(carrierWatts(pep, up) / carrier).toBeCloseTo(1, 12)
        expect(upFromPep(pep, carrier)).toBeCloseTo(up, 11)
        expect(depthFromPower(modulatedWatts(carrier, up), carrier)).toBeCloseTo(up, 9)
      },
    ),
  )
})
