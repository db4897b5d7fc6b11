import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { LEAD_TO_MEND_OHMS, plugVolts, terminalVolts } from '../../../src/core/job/state/job-seen.ts'
import type { Job } from '../../../src/core/job/state/job-types.ts'
import { JobBench, METERS } from '../../kit/job/job-bench.ts'

/** The invented 27 MHz set: never above 16.0 V at the supply's terminals. */
const leadOf = (ohms: number): Job => ({
  ...new JobBench().job,
  lead: { ohms, receiveAmps: 0.3, keyedAmps: 1.25 },
})

describe('volts at the terminals for 15.6 V at the plug', () => {
  test.each([
    { ohms: 0, keyed: true, volts: 15.6, why: 'no drop' },
    { ohms: 0.08, keyed: true, volts: 15.7, why: '0.08 ohm at 1.25 A' },
    { ohms: 0.08, keyed: false, volts: 15.624, why: 'the same lead at 0.3 A' },
    { ohms: 0.15, keyed: true, volts: 15.7875, why: 'the worst lead that is made up for' },
    { ohms: 0.151, keyed: true, volts: 15.6, why: 'a lead to be mended is not made up for' },
    { ohms: 0.35, keyed: true, volts: 15.6, why: 'a corroded plug (fault 8) is not made up for' },
    { ohms: -0.02, keyed: true, volts: 15.6, why: 'a drop below nothing is a meter error, not a lead' },
  ])('$ohms ohm, keyed $keyed: $volts V, $why', ({ ohms, keyed, volts }) => {
    expect(terminalVolts(leadOf(ohms), 15.6, keyed)).toBeCloseTo(volts, 9)
  })

  test('stop at the ceiling of 16.0 V, whatever the lead drops', () => {
    expect(terminalVolts(leadOf(0.1), 15.9, true)).toBe(16)
    expect(terminalVolts(leadOf(0), 17, false)).toBe(16)
  })

  test('stop at normal, 13.8 V, on a supply without a trip; below it the drop is made up for', () => {
    const job = { ...new JobBench(METERS, { supplyTrip: 'none' }).job, lead: leadOf(0.08).lead }
    expect(terminalVolts(job, 13.8, true)).toBe(13.8)
    expect(terminalVolts(job, 10.8, true)).toBeCloseTo(10.9, 9)
  })

  test('never exceed the ceiling, never lie below the plug, and never differ by more than 0.15 ohm can drop', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 6, max: 16, noNaN: true }),
        fc.boolean(),
        (ohms, plug, keyed) => {
          const volts = terminalVolts(leadOf(ohms), plug, keyed)
          expect(volts).toBeLessThanOrEqual(16)
          expect(volts).toBeGreaterThanOrEqual(plug)
          expect(volts - plug).toBeLessThanOrEqual(LEAD_TO_MEND_OHMS * (keyed ? 1.25 : 0.3) + 1e-9)
        },
      ),
      { numRuns: 50 },
    )
  })
})

test('1.56 A through two leads of 0.04 ohm: 7.40 V at the terminals is 7.275 V at the plug', () => {
  const bench = new JobBench()
  const job = { ...leadOf(0.08), supply: { ...bench.supplyState(), volts: 7.4, amps: 1.56 } }
  expect(plugVolts(job)).toBeCloseTo(7.4 - 0.1248, 9)
  expect(plugVolts({ ...job, supply: null })).toBeNull()
})

test('the volts that are set at the terminals are the volts that arrive at the plug', () => {
  const bench = new JobBench()
  const job = leadOf(0.12)
  const volts = terminalVolts(job, 13.8, true)
  expect(plugVolts({ ...job, supply: { ...bench.supplyState(), volts, amps: 1.25 } })).toBeCloseTo(13.8, 12)
})
