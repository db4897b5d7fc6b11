import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import {
  beforehand,
  budgetOf,
  leadPart,
  type MeterDoubt,
  meterDoubt,
  type Seen,
} from '../../../src/core/uncertainty/meter-budget.ts'
import { budgetOfChange, combine, standardOf } from '../../../src/core/uncertainty/uncertainty.ts'
import type { MeterFacts } from '../../../src/schema/kept/reading.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

const QUIET = { noise: { ofReading: 0, floor: 0 }, step: 0 }
const limits = (ofReading: number, floor = 0) => ({ accuracy: { ofReading, floor } })
const one = (value: number): Seen => ({ value, from: 'one reading', count: 1, spread: 0 })
const mean = (value: number, count: number, spread: number): Seen => ({ value, from: 'mean', count, spread })
const expanded = (doubt: MeterDoubt, seen: Seen) => combine(budgetOf(doubt, seen)).expanded
const named = (doubt: MeterDoubt, seen: Seen, name: string) => budgetOf(doubt, seen).find((part) => part.name === name)

describe('budgets of an ordinary shop, k = 2 (common practice)', () => {
  const power = (facts: Partial<MeterFacts>) => meterDoubt({ ...METER_FACTS.power, ...QUIET, ...facts })

  test('power, 5 % of a full scale of 10 W, at 4 W: 0.62 W, of which the scale is 0.58 W', () => {
    expect(expanded(power(limits(0, 0.5e-3)), one(4))).toBeCloseTo(0.577, 3)
    const pointer = { ...limits(0, 0.5e-3), step: 0.2e-3, noise: { ofReading: 0, floor: 0.1e-3 } }
    expect(expanded(power(pointer), one(4))).toBeCloseTo(0.62, 1)
  })

  test('power, 5 % of reading, VSWR 1.5 and 1.2, path within 0.05 dB: 0.31 W (7.9 %)', () => {
    const doubt = power({ ...limits(0.05), vswr: { set: 1.5, meter: 1.2 }, pathLossUncertaintyDb: 0.05 })
    expect(expanded(doubt, one(4))).toBeCloseTo(0.314, 3)
    expect(budgetOf(doubt, one(4)).map((part) => part.name)).toEqual([
      'meter accuracy',
      'path loss',
      'mismatch',
      'noise of a reading',
    ])
    expect(standardOf(named(doubt, one(1), 'mismatch') ?? leadPart({ withinOhms: 0, amps: 0 }))).toBeCloseTo(0.02571, 5)
  })

  test('power, 2.5 % head, VSWR 1.1: 0.17 W (4.2 %)', () => {
    const doubt = power({ ...limits(0.025), vswr: { set: 1.5, meter: 1.1 }, pathLossUncertaintyDb: 0.05 })
    expect(expanded(doubt, one(4)) / 4).toBeCloseTo(0.042, 2)
    expect(expanded(doubt, one(4))).toBeCloseTo(0.17, 1)
  })

  test('frequency by a 0.5 ppm time base: 13.6 Hz, so 16 to 18 Hz; corrected to 0.05 ppm with 5 Hz of drift in the hand: 8 Hz at most', () => {
    const hz = expanded(meterDoubt(METER_FACTS.counter), one(27.205e6))
    expect(hz).toBeGreaterThan(15.7)
    expect(hz).toBeLessThan(18)
    expect(named(meterDoubt(METER_FACTS.counter), one(27.205e6), 'time base')?.size).toBeCloseTo(13.6, 1)
    const corrected = expanded(meterDoubt({ ...METER_FACTS.counter, ...limits(0.05e-6, 5) }), one(27.205e6))
    expect(corrected).toBeLessThan(8)
    expect(corrected).toBeGreaterThan(7)
  })

  test('control volts, 0.3 % meter, loading of 1 % corrected: 8 mV', () => {
    const doubt = meterDoubt(METER_FACTS.volts, { seriesOhms: 100e3 })
    expect(1e3 * expanded(doubt, mean(2.4, 8, 0.001))).toBeCloseTo(8.4, 0)
    expect(named(doubt, one(2.4), 'loading')?.size).toBeCloseTo(2.4 * 0.0099 * 0.06, 6)
    expect(named(meterDoubt(METER_FACTS.volts), one(2.4), 'loading')).toBeUndefined()
  })

  test('deviation, 3 % meter at 1.80 kHz: 0.068 kHz; 5 %: 0.11 kHz', () => {
    const by = (share: number) => meterDoubt({ ...METER_FACTS.modulation, ...limits(share) })
    expect(expanded(by(0.03), mean(1800, 4, 25)) / 1e3).toBeCloseTo(0.068, 2)
    expect(expanded(by(0.05), mean(1800, 4, 25)) / 1e3).toBeCloseTo(0.11, 2)
  })

  test('12 dB SINAD level, generator +-1 dB, analyser +-0.5 dB: 1.3 dB', () => {
    const analyser: MeterFacts = { ...METER_FACTS.volts, ...QUIET, quantity: 'SINAD', unit: 'dB', ...limits(0, 0.5) }
    const generator = { ...leadPart({ withinOhms: 1, amps: 1 }), name: 'generator level' }
    expect(combine(budgetOf(meterDoubt(analyser), one(12), [generator])).expanded).toBeCloseTo(1.3, 1)
  })

  test('audio power, volts 1 % and load 1 %: 2.6 to 2.8 %', () => {
    const volts = meterDoubt({ ...METER_FACTS.volts, ...QUIET, quantity: 'audio level', ...limits(0.01) })
    const load = { ...leadPart({ withinOhms: 0.01, amps: 1 }), name: 'load' }
    // power goes with the square of the volts
    const parts = budgetOf(volts, one(1)).map((part) => ({ ...part, size: 2 * part.size }))
    expect(100 * combine([...parts, load]).expanded).toBeGreaterThan(2.5)
    expect(100 * combine([...parts, load]).expanded).toBeLessThan(2.85)
  })
})

test('share and floor of the limits add, at a small value and below 0 too', () => {
  const doubt = meterDoubt({ ...METER_FACTS.volts, ...QUIET, ...limits(0.01, 0.002) })
  const size = (value: number) => named(doubt, one(value), 'meter accuracy')?.size
  expect([2.4, 0.5, 0, -0.5].map(size)).toEqual([0.026, 0.007, 0.002, -0.007].map((half) => expect.closeTo(half, 12)))
})

test('the step behind a path is half of what it is worth at the set; nothing in the way has no part', () => {
  const facts = { ...METER_FACTS.power, ...limits(0), noise: { ofReading: 0, floor: 0 }, step: 0.01e-3 }
  expect(named(meterDoubt(facts), one(4), 'display step')).toMatchObject({
    ...{ shape: 'rectangular', size: expect.closeTo(0.005, 12), shared: null },
  })
  const names = (more: Partial<MeterFacts>) => meterDoubt({ ...facts, ...more }).rows.map((row) => row.name)
  expect(names({ pathLossUncertaintyDb: 0 })).toEqual(['display step'])
  expect(names({ vswr: { set: 1, meter: 1.2 } })).toEqual(['display step'])
  expect(names({ vswr: { set: 1.5, meter: 1 } })).toEqual(['display step'])
  expect(names({ pathLossUncertaintyDb: 0.01, vswr: { set: 1.01, meter: 1.01 } })).toEqual([
    ...['display step', 'path loss', 'mismatch'],
  ])
})

describe('noise', () => {
  const modulation = meterDoubt({ ...METER_FACTS.modulation, ...limits(0), step: 0 })
  const noiseOf = (doubt: MeterDoubt, seen: Seen) =>
    budgetOf(doubt, seen).findLast(({ name }) => name.startsWith('noise'))

  test('of a mean: the spread seen over the root of the count, count - 1 degrees of freedom (GUM 4.2.3)', () => {
    expect(noiseOf(modulation, mean(1800, 9, 30))).toMatchObject({ name: 'noise of the mean', size: 10, freedom: 8 })
    expect(combine(budgetOf(modulation, mean(1800, 3, 30)))).toMatchObject({ freedom: 2, k: expect.closeTo(4.5265, 3) })
  })

  test('of fewer than 3 readings, of one, and before any: as the driver states it', () => {
    expect(noiseOf(modulation, mean(1800, 2, 1))).toMatchObject({ size: 25 / Math.SQRT2, freedom: Infinity })
    expect(noiseOf(modulation, { ...mean(1800, 9, 30), from: 'one reading' })).toMatchObject({
      size: 25,
      freedom: Infinity,
    })
    expect(beforehand(modulation, 1800)).toMatchObject({ count: 10, from: 'line' })
    expect(noiseOf(modulation, beforehand(modulation, 1800))?.freedom).toBe(Infinity)
    expect(beforehand(meterDoubt({ ...METER_FACTS.power, typed: true }), 4)).toMatchObject({
      count: 1,
      from: 'one reading',
    })
  })

  test('of a meter whose driver states none: the spread seen, of a single reading too', () => {
    const silent = meterDoubt({ ...METER_FACTS.modulation, ...limits(0), ...QUIET })
    expect(noiseOf(silent, { ...mean(1800, 9, 30), from: 'one reading' })).toMatchObject({ size: 30, freedom: 8 })
    expect(noiseOf(silent, one(1800))).toMatchObject({ size: 0 })
    const smooth = meterDoubt({ ...METER_FACTS.modulation, ...limits(0), ...QUIET, smoothing: 0.6 })
    // three that count as less than one: their spread is too small by the root of 2 / 1, and has 1 degree of freedom
    expect(noiseOf(smooth, mean(1800, 3, 30))).toMatchObject({ size: expect.closeTo(30 * Math.SQRT2, 9), freedom: 1 })
  })

  test('of a mean moved half way along its slope: a third more, with many readings', () => {
    const line = noiseOf(modulation, { ...mean(1800, 101, 30), from: 'line' })?.size ?? 0
    expect(line / (30 / Math.sqrt(101))).toBeCloseTo(Math.sqrt(1.75), 1)
  })

  test('smoothed by 0.6: readings count a quarter, and a few of them leave it to the driver', () => {
    const smooth = meterDoubt({ ...METER_FACTS.modulation, ...limits(0), step: 0, smoothing: 0.6 })
    expect(noiseOf(smooth, mean(1800, 40, 30))).toMatchObject({
      size: expect.closeTo((30 * Math.sqrt(39 / 36)) / Math.sqrt(10), 9),
      freedom: expect.closeTo(9, 9),
    })
    expect(noiseOf(smooth, mean(1800, 10, 2))).toMatchObject({
      size: expect.closeTo(25 / Math.sqrt(2.5), 9),
      freedom: Infinity,
    })
  })
})

describe('parts', () => {
  test('a display step is half a step either way, as it is worth at the set', () => {
    const doubt = meterDoubt({ ...METER_FACTS.power, ...limits(0), noise: QUIET.noise })
    expect(budgetOf(doubt, one(4))[0]).toMatchObject({
      name: 'display step',
      shape: 'rectangular',
      size: expect.closeTo(0.005, 12),
    })
  })

  test('a path and a mismatch are reckoned with for a power only, and only where somebody stated them', () => {
    const stated = { pathLossUncertaintyDb: 0.1, vswr: { set: 1.5, meter: 1.2 } }
    const names = (facts: MeterFacts) => budgetOf(meterDoubt(facts), one(4)).map((part) => part.name)
    expect(names({ ...METER_FACTS.volts, ...stated })).toEqual(['meter accuracy', 'display step', 'noise of a reading'])
    expect(names(METER_FACTS.power)).toEqual(['meter accuracy', 'display step', 'noise of a reading'])
    expect(names({ ...METER_FACTS.power, ...stated })).toContain('mismatch')
  })

  test('a lead of 0.05 ohm known to 0.01 ohm, at 2 A: 20 mV either way', () => {
    expect(leadPart({ withinOhms: 0.01, amps: 2 })).toMatchObject({ size: 0.02, shape: 'rectangular' })
    const doubt = meterDoubt({ ...METER_FACTS.volts, ...QUIET, ...limits(0) })
    expect(combine(budgetOf(doubt, one(13.8), [leadPart({ withinOhms: 0.01, amps: 2 })])).expanded).toBeCloseTo(
      0.0231,
      4,
    )
  })

  test('power change from 2.25 W to 3.50 W by one meter: +-0.09 W; by two meters +-0.24 W', () => {
    const doubt = meterDoubt(METER_FACTS.power)
    const other = meterDoubt({ ...METER_FACTS.power, instrument: 'older' })
    const at = (of: MeterDoubt, watts: number) => budgetOf(of, mean(watts, 9, 0.01))
    expect(combine(budgetOfChange(at(doubt, 2.25), at(doubt, 3.5))).expanded).toBeCloseTo(0.075, 2)
    expect(combine(budgetOfChange(at(other, 2.25), at(doubt, 3.5))).expanded).toBeCloseTo(0.24, 2)
    expect(combine(at(doubt, 3.5)).expanded).toBeCloseTo(0.2, 2)
  })

  test('a value below nothing keeps its limits of error: from -1 to +1 V the floor does not cancel', () => {
    const doubt = meterDoubt({ ...METER_FACTS.volts, ...QUIET, ...limits(0.01, 0.02) })
    expect(expanded(doubt, one(-1))).toBeCloseTo(expanded(doubt, one(1)), 12)
    const change = combine(budgetOfChange(budgetOf(doubt, one(-1)), budgetOf(doubt, one(1))))
    expect(change.standard).toBeCloseTo(0.06 / Math.sqrt(3), 12)
  })
})

test('for any reading of any of these meters: U grows with the value and is never below a part', () => {
  const meters = Object.values(METER_FACTS).map((facts) => meterDoubt(facts, { seriesOhms: 1e5 }))
  fc.assert(
    fc.property(
      fc.constantFrom(...meters),
      fc.double({ min: 0.1, max: 1e8, noNaN: true }),
      fc.integer({ min: 1, max: 60 }),
      fc.constantFrom('one reading', 'mean', 'line'),
      (doubt, value, count, from) => {
        const seen = { value, from, count, spread: 0.001 * value } as Seen // from is one of the three
        const budget = budgetOf(doubt, seen)
        for (const part of budget)
          expect(combine(budget).expanded).toBeGreaterThanOrEqual(2 * standardOf(part) - 1e-12 * value)
        expect(expanded(doubt, { ...seen, value: 2 * value, spread: 2 * seen.spread })).toBeGreaterThanOrEqual(
          combine(budget).expanded,
        )
      },
    ),
  )
})
