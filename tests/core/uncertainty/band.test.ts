import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { type Band, errorE, halfWidth, judge, judgeParts, pegHalfE } from '../../../src/core/uncertainty/band.ts'

const power: Band = { low: 3.6, high: 4.0, aim: 3.85 }

describe('error e', () => {
  test.each([
    [3.6, -1],
    [3.85, 0],
    [4.0, 1],
    [3.725, -0.5],
    [3.925, 0.5],
    [4.3, 3],
  ])('%d W of 3.6 to 4.0 W, aim 3.85 W, is e = %d', (watts, e) => {
    expect(errorE(watts, power)).toBeCloseTo(e, 9)
  })

  test('the aim is the middle where the sheet names none', () => {
    expect(errorE(2.4, { low: 2.2, high: 2.6, aim: null })).toBeCloseTo(0, 9)
  })

  test.each([
    ['at the limit of 0.5 uV', 0.5e-6, 1],
    ['10 % under it, where the aim is put', 0.45e-6, 0],
    ['at 0.25 uV, far on the good side', 0.25e-6, -0.8],
    ['10 % over it', 0.55e-6, 2],
  ])('a band open below: %s', (_, volts, e) => {
    expect(errorE(volts, { low: null, high: 0.5e-6, aim: null })).toBeCloseTo(e, 9)
  })

  test('the width of an open side can be given: 3.75 W is e = -0.5 for "at most 4 W, aim 3.85 W" with 0.1 W', () => {
    expect(errorE(3.75, { low: null, high: 4, aim: 3.85 }, 0.1)).toBeCloseTo(-0.5, 9)
  })

  test('an aim on the edge: e is 0 on it and beyond 1 past it', () => {
    const band = { low: 1, high: 2, aim: 2 }
    expect(errorE(2, band)).toBe(0)
    expect(errorE(2.1, band)).toBeCloseTo(1.1, 9)
  })

  test.each([
    ['an aim above its band stands at the upper edge', { low: 1, high: 2, aim: 3 }, [1, 1.5, 2, 3], [-1, -0.5, 0, 2]],
    ['an aim below its band stands at the lower edge', { low: 1, high: 2, aim: 0 }, [0, 1, 1.5, 2], [-2, 0, 0.5, 1]],
    ['an aim over a limit stands at it', { low: null, high: 2, aim: 3 }, [2, 2.2], [0, 2]],
    ['an aim under a limit stands at it', { low: 2, high: null, aim: 1 }, [2, 1.8], [0, -2]],
    ['without limits everything is at 0', { low: null, high: null, aim: 1 }, [-5, 1, 7], [0, 0, 0]],
    ['a band of one value', { low: 2, high: 2, aim: null }, [1.8, 2, 2.2], [-2, 0, 2]],
  ])('%s', (_, band, values, es) => {
    for (const [at, value] of values.entries()) expect(errorE(value, band)).toBeCloseTo(es[at] ?? Number.NaN, 9)
  })

  test('it never throws, nor does the half width or the peg, whatever stands in the band', () => {
    const number = fc.double({ noNaN: true, noDefaultInfinity: true })
    const limit = fc.option(number, { nil: null })
    fc.assert(
      fc.property(fc.record({ low: limit, high: limit, aim: limit }), fc.double(), (band, value) => {
        expect(errorE(value, band)).toBeTypeOf('number')
        expect(pegHalfE(0.1, value, band)).toBeTypeOf('number')
        expect(halfWidth(band)).toBeTypeOf('number')
      }),
    )
  })

  test('|e| is at most 1 exactly where the verdict is inside, whatever the band', () => {
    const edges = fc.double({ min: -1e3, max: 1e3, noNaN: true })
    fc.assert(
      fc.property(edges, edges, edges, fc.constantFrom('both', 'low', 'high'), (a, b, value, sides) => {
        const [low, high] = [Math.min(a, b), Math.max(a, b)]
        fc.pre(high - low > 1e-6)
        const band = { low: sides === 'high' ? null : low, high: sides === 'low' ? null : high, aim: null }
        const clear = [low, high].every((edge) => Math.abs(value - edge) > 1e-9)
        fc.pre(clear)
        expect(Math.abs(errorE(value, band)) <= 1).toBe(judge(value, band) === 'inside')
      }),
    )
  })
})

describe('verdict', () => {
  test.each([
    [3.5999, 'low'],
    [3.6, 'inside'],
    [4.0, 'inside'],
    [4.0001, 'high'],
    [null, 'unread'],
    [Number.NaN, 'unread'],
    [Number.POSITIVE_INFINITY, 'unread'],
  ] as const)('%s W against 3.6 to 4.0 W is %s', (watts, verdict) => {
    expect(judge(watts, power)).toBe(verdict)
  })

  test.each([
    [[1780, 1710], 'inside'],
    [[1780, 1590], 'low'],
    [[1960, 1710], 'high'],
    [[1960, 1590], 'high'],
    [[1780, null], 'unread'],
    [[], 'unread'],
  ] as const)('peaks %j Hz against 1600 to 1950 Hz are %s', (parts, verdict) => {
    expect(judgeParts(parts, { low: 1600, high: 1950, aim: 1800 })).toBe(verdict)
  })
})

describe('width of the peg', () => {
  test('0.31 W is 2.07 above the aim and 1.24 below it, each on its own side', () => {
    expect(pegHalfE(0.31, 3.9, power)).toBeCloseTo(0.31 / 0.15, 9)
    expect(pegHalfE(0.31, 3.7, power)).toBeCloseTo(0.31 / 0.25, 9)
  })

  test('on an open side it shrinks with e: the peg covers what its ends would show', () => {
    const band = { low: null, high: 10, aim: null }
    const half = (errorE(5.001, band) - errorE(4.999, band)) / 2
    expect(pegHalfE(0.001, 5, band)).toBeCloseTo(half, 6)
  })
})

test.each([
  ['2.2 to 2.6 V', { low: 2.2, high: 2.6, aim: 2.4 }, 0.2],
  ['at most 0.5 V', { low: null, high: 0.5, aim: null }, 0.05],
  ['at least 20 dB', { low: 20, high: null, aim: null }, 2],
])('the half width of %s', (_, band, half) => {
  expect(halfWidth(band)).toBeCloseTo(half, 9)
})
