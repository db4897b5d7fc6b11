import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { coverageFactor, normalAbove } from '../../../src/core/statistics/student.ts'
import type { Band } from '../../../src/core/uncertainty/band.ts'
import { conformance, provesNothing, tooCoarse } from '../../../src/core/uncertainty/conformance.ts'
import { meterDoubt } from '../../../src/core/uncertainty/meter-budget.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'
import { vectorOf } from '../../kit/program/published.ts'

const upTo = (high: number): Band => ({ low: null, high, aim: null })
const both = (half: number): Band => ({ low: -half, high: half, aim: 0 })
const sure = (standard: number) => ({ standard, freedom: Number.POSITIVE_INFINITY })

describe('conformance probability (JCGM 106 clause 7, inputs MEMORY, numbers COMPUTED: uncertainty.json)', () => {
  test('upper limit -5.40, value -5.47, u 0.05: 0.919 (printed 0.92)', () => {
    const { T_U = 0, y = 0, u = 0, p_c = 0 } = vectorOf('upper limit example')
    expect(conformance(y, sure(u), upTo(T_U))).toBeCloseTo(p_c, 9)
  })

  test('both limits +-2000 Hz, value 1900 Hz, u 50 Hz: 0.97725', () => {
    const { T_L = 0, T_U = 0, y = 0, u = 0, p_c = 0 } = vectorOf('two-sided')
    expect(conformance(y, sure(u), { low: T_L, high: T_U, aim: null })).toBeCloseTo(p_c, 12)
  })

  test('speed limit 100, u 2 %, to be 99.9 % sure: 106.59 (printed 107)', () => {
    const { v0 = 0, u_rel = 0, p = 0, v_max = 0 } = vectorOf('speed limit')
    expect(conformance(v_max, sure(u_rel * v_max), { low: v0, high: null, aim: null })).toBeCloseTo(p, 9)
  })

  test('at the edge one in two; a guard of U away 2.275 % are wrong, a guard of 1.645 u away 5 %', () => {
    expect(conformance(2000, sure(50), upTo(2000))).toBe(0.5)
    expect(1 - conformance(1900, sure(50), upTo(2000))).toBeCloseTo(0.02275, 5)
    expect(1 - conformance(2000 - 1.644853627 * 50, sure(50), upTo(2000))).toBeCloseTo(0.05, 9)
  })

  test('few degrees of freedom: a guard of U is still 2.275 %, k being that of Student', () => {
    const standard = 50
    const value = 2000 - coverageFactor(4) * standard
    expect(1 - conformance(value, { standard, freedom: 4 }, upTo(2000))).toBeCloseTo(0.02275, 5)
  })

  test('no doubt at all: yes or no; no number: no probability', () => {
    expect([2000, 2000.001].map((value) => conformance(value, sure(0), upTo(2000)))).toEqual([1, 0])
    expect(conformance(Number.NaN, sure(1), upTo(2000))).toBeNaN()
  })
})

describe('risk over a whole production (process sd 0.12, u 0.04, limits +-0.2; COMPUTED: uncertainty.json)', () => {
  const risks = (name: string) => {
    const { process_sd: sd = 0, u_m: u = 0, T = 0, A = 0, R_C = 0, R_P = 0 } = vectorOf(name)
    const accepted: Band = both(A)
    const inside = (value: number) => Math.abs(value) <= T
    let consumer = 0
    let producer = 0
    const steps = 40_000
    // the limits fall between two cells
    const width = 10 * T
    for (let index = 0; index < steps; index++) {
      const value = -width / 2 + (width * (index + 0.5)) / steps
      const share = (Math.exp(-0.5 * (value / sd) ** 2) / sd / Math.sqrt(2 * Math.PI)) * (width / steps)
      // the probability to be accepted is that of a reading about the true value to lie in the acceptance band
      const taken = conformance(value, sure(u), accepted)
      if (inside(value)) producer += share * (1 - taken)
      else consumer += share * taken
    }
    return { consumer, producer, R_C, R_P, guard: T - A }
  }

  test('simple acceptance: 1.894 % for the customer, 3.721 % for the maker', () => {
    const { consumer, producer, R_C, R_P } = risks('global risk, computed')
    expect(consumer).toBeCloseTo(R_C, 8)
    expect(producer).toBeCloseTo(R_P, 8)
  })

  test('a guard of U: 0.047 % and 24.77 %', () => {
    const { consumer, producer, R_C, R_P, guard } = risks('global risk with w=U')
    expect(guard).toBeCloseTo(0.08, 12)
    expect(consumer).toBeCloseTo(R_C, 8)
    expect(producer).toBeCloseTo(R_P, 8)
  })
})

describe('for any value', () => {
  const number = (min: number, max: number) => fc.double({ min, max, noNaN: true })
  const freedoms = fc.oneof(fc.integer({ min: 1, max: 300 }), fc.constant(Infinity))

  test('it is a probability, falls with the distance from the middle, and one edge is never worse than two', () => {
    fc.assert(
      fc.property(number(0, 50), number(0, 20), number(0.01, 20), freedoms, (value, farther, standard, freedom) => {
        const at = (one: number) => conformance(one, { standard, freedom }, both(10))
        expect(at(value)).toBeGreaterThanOrEqual(0)
        expect(at(value)).toBeLessThanOrEqual(1)
        expect(at(value + farther)).toBeLessThanOrEqual(at(value) + 1e-12)
        expect(at(-value)).toBeCloseTo(at(value), 12)
        expect(conformance(value, { standard, freedom }, upTo(10))).toBeGreaterThanOrEqual(at(value) - 1e-12)
      }),
    )
  })

  test('at most one in two outside the band of one edge, at least one in two inside', () => {
    fc.assert(
      fc.property(number(-50, 50), number(0.01, 20), freedoms, (value, standard, freedom) => {
        const share = conformance(value, { standard, freedom }, upTo(10))
        if (value <= 10) expect(share).toBeGreaterThanOrEqual(0.5)
        else expect(share).toBeLessThanOrEqual(0.5)
      }),
    )
  })

  test('the far tail keeps its digits: seven sigma outside', () => {
    const share = conformance(17, sure(1), both(10))
    expect(share / normalAbove(7)).toBeCloseTo(1, 12)
    expect(conformance(-17, sure(1), both(10)) / normalAbove(7)).toBeCloseTo(1, 12)
  })
})

describe('meter too coarse to prove this band', () => {
  const power = (ofReading: number) => meterDoubt({ ...METER_FACTS.power, accuracy: { ofReading, floor: 0 } })

  test('wider than half the band is too coarse', () => {
    expect([0.19, 0.2, 0.21].map((expanded) => tooCoarse(expanded, 0.2))).toEqual([false, false, true])
  })

  test.each([
    ['3.6 .. 4.0 W by 5 %', power(0.05), { low: 3.6, high: 4, aim: 3.8 }, true],
    ['3.6 .. 4.0 W by 2.5 %', power(0.025), { low: 3.6, high: 4, aim: 3.8 }, false],
    ['2.2 .. 2.6 V by 0.3 %', meterDoubt(METER_FACTS.volts), { low: 2.2, high: 2.6, aim: null }, false],
    [
      '27.205 MHz +- 150 Hz by 0.5 ppm',
      meterDoubt(METER_FACTS.counter),
      { low: 27.20485e6, high: 27.20515e6, aim: null },
      false,
    ],
    [
      '27.205 MHz +- 15 Hz by 0.5 ppm',
      meterDoubt(METER_FACTS.counter),
      { low: 27.204985e6, high: 27.205015e6, aim: null },
      true,
    ],
    ['1.60 .. 1.95 kHz by 3 %', meterDoubt(METER_FACTS.modulation), { low: 1600, high: 1950, aim: 1800 }, false],
    ['at most 4 W by 5 %: stay below it', power(0.05), { low: null, high: 4, aim: null }, false],
  ])('%s, said before the first reading: %s', (_, doubt, band, coarse) => {
    expect(provesNothing(doubt, band)).toBe(coarse)
  })
})
