import { describe, expect, test } from 'vitest'
import { loadPlans } from '../../../src/commands/load-procedures.ts'
import { errorOf, offsetHz, offsetsOn, referenceError, sameCrystal } from '../../../src/core/radio/crystal.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import levels from '../../reference/rf_levels.json' with { type: 'json' }

describe.each(levels.ppm_to_hz)('at $mhz MHz (COMPUTED; tests/reference/rf_levels.json)', ({ mhz, ...rest }) => {
  test.each([
    [50e-6, rest['50ppm_hz']],
    [5e-6, rest['5ppm_hz']],
    [2.5e-6, rest['2.5ppm_hz']],
    [1e-7, rest['1e-7_hz']],
  ])('a ratio of %d is %d Hz, and back', (error, hz) => {
    expect(Math.abs(offsetHz(error, mhz * 1e6) - hz)).toBeLessThan(0.51e-4)
    const nominalHz = mhz * 1e6
    expect(errorOf({ nominalHz, measuredHz: nominalHz + offsetHz(error, nominalHz) })).toBeCloseTo(error, 13)
  })
})

test('the European 600 Hz is 21.9 to 22.3 ppm over the forty channels (READ, COMPUTED)', () => {
  expect(600 / 27_405_000).toBeCloseTo(21.9e-6, 7)
  expect(errorOf({ nominalHz: 26_965_000, measuredHz: 26_965_600 })).toBeCloseTo(22.25e-6, 8)
})

const plans = [...loadPlans().values()]

test.each(plans.map((plan) => [plan.id, plan] as const))(
  '%s: one error of the reference, 10 ppm, is ten millionths of each channel, transmit and receive',
  (_, plan) => {
    const offsets = offsetsOn(
      10e-6,
      plan.channels.map((one) => ({ ...one, band: plan.id })),
    )
    expect(offsets).toHaveLength(plan.channels.length)
    for (const [index, { channel, transmitHz, receiveHz }] of plan.channels.entries()) {
      expect(offsets[index]).toMatchObject({ band: plan.id, channel })
      expect(offsets[index]?.transmitHz).toBeCloseTo(transmitHz / 1e5, 9)
      expect(offsets[index]?.receiveHz).toBeCloseTo(receiveHz / 1e5, 9)
    }
  },
)

test('on a two-frequency marine channel the same error is 46 Hz more in receive than in transmit at 10 ppm', () => {
  const one = { band: 'marine-vhf', channel: 60, transmitHz: 156_025_000, receiveHz: 160_625_000, reserved: false }
  const [offset] = offsetsOn(10e-6, [one])
  expect((offset?.receiveHz ?? 0) - (offset?.transmitHz ?? 0)).toBeCloseTo(46, 9)
})

describe('one error of the reference from several channels', () => {
  const at = (hz: number, error: number, extra = 0) => ({ nominalHz: hz, measuredHz: hz * (1 + error) + extra })

  test('+412 Hz at 27.205 MHz is 15.144 ppm; of a single reading there is no doubt to be had', () => {
    const seen = referenceError([{ nominalHz: 27_205_000, measuredHz: 27_205_412 }])
    expect(seen.error * 1e6).toBeCloseTo(15.1443, 4)
    expect(seen.doubt).toBeNaN()
  })

  test('three channels 15 ppm high are explained by it to 1e-6 Hz', () => {
    const seen = referenceError([26_965_000, 27_205_000, 27_405_000].map((hz) => at(hz, 15e-6)))
    expect(seen.error * 1e6).toBeCloseTo(15, 6)
    expect(seen.farthestHz).toBeLessThan(1e-6)
  })

  test('a channel 300 Hz off the rest is not explained: 200 Hz are left on it', () => {
    const seen = referenceError([at(27.1e6, 0), at(27.2e6, 0, 300), at(27.3e6, 0)])
    expect(seen.farthestHz).toBeCloseTo(200, 0)
    expect(seen.doubt * 1e6).toBeCloseTo(100 / 27.2, 1)
  })
})

describe('transmit and receive come from one crystal', () => {
  const transmit = { nominalHz: 27_205_000, measuredHz: 27_205_412 }

  test('15.1 ppm in transmit and 14.0 ppm in receive agree', () => {
    const check = sameCrystal({ transmit, receive: { nominalHz: 27_205_000, measuredHz: 27_205_381 } })
    expect(check.words).toBe('')
    expect(check.receiveError * 1e6).toBeCloseTo(14.0, 1)
  })

  test('a filter 1.5 kHz off centre (fault 12) is no error of the crystal', () => {
    expect(sentence(sameCrystal({ transmit, receive: { nominalHz: 27_205_000, measuredHz: 27_206_912 } }).words)).toBe(
      'transmit is 15.1 ppm high, receive 70.3 ppm high, and both come from one crystal: counter, generator, or a filter off centre?',
    )
  })

  test('in ppm, not in Hz: 156.0 MHz sent and 160.6 MHz received, both 5 ppm low, agree though 23 Hz apart', () => {
    const low = (hz: number) => ({ nominalHz: hz, measuredHz: hz * (1 - 5e-6) })
    expect(sentence(sameCrystal({ transmit: low(156_025_000), receive: low(160_625_000) }, 1e-8).words)).toBe('')
    expect(
      sentence(sameCrystal({ transmit: low(156_025_000), receive: { nominalHz: 1e6, measuredHz: 1e6 } }).words),
    ).toMatch(/^transmit is 5\.0 ppm low, receive right, /)
  })
})
