import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { z } from 'zod'
import {
  coverageFactor,
  normalAbove,
  normalBelow,
  studentBelow,
  studentWithin,
  TWO_SIGMA,
} from '../../../src/core/statistics/student.ts'

const read = (name: string) => readFileSync(new URL(`../../reference/${name}`, import.meta.url), 'utf8')
const row = z.array(z.number())
const reference = z
  .object({ quantiles: z.array(row), within: z.array(row), normalAbove: z.array(row) })
  .parse(JSON.parse(read('student.json')))

const [head = '', ...lines] = read('student_t.csv')
  .trim()
  .split('\n')
  .filter((line) => !line.startsWith('#'))
const levels = head
  .split(',')
  .slice(1)
  .map((name) => Number(name.slice(1)) / 100)
const table = lines.flatMap((line) => {
  const [freedom = '', ...values] = line.split(',')
  return values.map((k, at) => [levels[at] ?? 0, freedom === 'inf' ? Infinity : Number(freedom), Number(k)] as const)
})

describe("Student's t, two-sided (GUM table G.2 as remembered, COMPUTED to 6 digits: student_t.csv)", () => {
  test('the table has 28 rows of 6 levels', () => expect(table.length).toBe(168))

  test.each(table)('%d within, %d degrees of freedom: %d', (level, freedom, k) => {
    expect(Math.abs(coverageFactor(freedom, level) - k)).toBeLessThanOrEqual(0.6e-6)
  })

  test.each([
    [1, 13.97],
    [2, 4.53],
    [3, 3.31],
    [4, 2.87],
    [5, 2.65],
    [10, 2.28],
    [20, 2.13],
    [50, 2.05],
    [Infinity, 2],
  ])('%d degrees of freedom at two sigma: %d (GUM table G.2, MEMORY)', (freedom, k) => {
    expect(Number(coverageFactor(freedom).toFixed(2))).toBe(k)
  })
})

describe('against a general-purpose library (mpmath, 30 digits)', () => {
  test.each(reference.quantiles)('%d degrees of freedom, %d within: %d', (freedom = 0, level = 0, k = 0) => {
    expect(Math.abs(coverageFactor(freedom, level) / k - 1)).toBeLessThan(freedom <= 200 ? 1e-13 : 1e-10)
  })

  test.each(reference.within)('%d degrees of freedom, up to %d: %d', (freedom = 0, t = 0, share = 0) => {
    expect(Math.abs(studentWithin(t, freedom) - share)).toBeLessThan(freedom <= 10_000 ? 2e-14 : 3e-9)
  })

  test.each(reference.normalAbove)('normal distribution above %d: %d, the far tail too', (above = 0, share = 0) => {
    expect(Math.abs(normalAbove(above) / share - 1)).toBeLessThan(2e-14)
  })
})

describe('against its own density, summed by Simpson', () => {
  const density = (t: number, freedom: number) => (1 + (t * t) / freedom) ** (-(freedom + 1) / 2)
  /** Of u = atan(t / root freedom), so that the whole line is a finite stretch. */
  const share = (t: number, freedom: number) => {
    const area = (to: number) => {
      const steps = 2000
      let sum = 0
      for (let index = 0; index <= steps; index++) {
        const u = (to * index) / steps
        const weight = index === 0 || index === steps ? 1 : index % 2 === 1 ? 4 : 2
        sum += weight * density(Math.sqrt(freedom) * Math.tan(u), freedom) * (1 + Math.tan(u) ** 2)
      }
      return (sum * to) / steps / 3
    }
    return area(Math.atan(t / Math.sqrt(freedom))) / area(Math.PI / 2 - 1e-9)
  }
  test.each([3, 6, 13, 40])('%d degrees of freedom', (freedom) => {
    for (const t of [0.3, 1, 2.5, 6]) expect(studentWithin(t, freedom)).toBeCloseTo(share(t, freedom), 8)
  })
})

describe('for any level and number of degrees of freedom', () => {
  const freedoms = fc.oneof(fc.integer({ min: 1, max: 3000 }), fc.constant(Infinity))

  test('the factor encloses the level', () => {
    fc.assert(
      fc.property(freedoms, fc.double({ min: 0.05, max: 0.9973, noNaN: true }), (freedom, level) => {
        expect(studentWithin(coverageFactor(freedom, level), freedom)).toBeCloseTo(level, 8)
      }),
    )
  })

  test('more freedom never makes it larger, and never smaller than 2 at two sigma', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 3000 }), (freedom) => {
        expect(coverageFactor(freedom + 1)).toBeLessThanOrEqual(coverageFactor(freedom) + 1e-12)
        expect(coverageFactor(freedom)).toBeGreaterThan(2)
      }),
    )
    expect(coverageFactor(Infinity)).toBe(2)
    expect(2 * normalBelow(2) - 1).toBeCloseTo(TWO_SIGMA, 15)
  })

  test('below t and below -t make one', () => {
    fc.assert(
      fc.property(freedoms, fc.double({ min: -30, max: 30, noNaN: true }), (freedom, t) => {
        expect(studentBelow(t, freedom) + studentBelow(-t, freedom)).toBeCloseTo(1, 12)
      }),
    )
  })
})

test('a level that is no share is a mistake of the program', () => {
  expect(() => coverageFactor(5, 95.45)).toThrow(TypeError)
  expect(() => coverageFactor(5, 1)).toThrow(TypeError)
})
