import { besselj } from 'bessel'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { besselJs, besselZero } from '../../../src/core/statistics/bessel.ts'
import reference from '../../reference/bessel.json' with { type: 'json' }

const numbered = (texts: readonly string[]) => texts.map((text, index) => ({ which: index + 1, zero: Number(text) }))

// COMPUTED with 30 digits; 1, 2 and 20 of order 0 also READ in a public test suite: see the file
test.each(numbered(reference.j0_zeros))('zero $which of J0 is $zero to 1e-13', ({ which, zero }) => {
  expect(Math.abs(besselZero(0, which) - zero)).toBeLessThan(1e-13)
})

test.each(numbered(reference.j1_zeros_first_sideband_nulls))(
  'zero $which of J1 is $zero to 1e-13',
  ({ which, zero }) => {
    expect(Math.abs(besselZero(1, which) - zero)).toBeLessThan(1e-13)
  },
)

test('thirty zeros are held against the table', () => {
  expect(reference.j0_zeros.length + reference.j1_zeros_first_sideband_nulls.length).toBe(30)
})

describe('against a general-purpose library', () => {
  test.each([0, 1, 2, 3, 5, 8, 12])(
    'J%d from 0 to 40 is the same to 2e-7, which is what the library is good for',
    (order) => {
      for (let x = 0; x <= 40; x += 0.125)
        expect(Math.abs((besselJs(x, order)[order] ?? Number.NaN) - besselj(x, order)), `at ${x}`).toBeLessThan(2e-7)
    },
  )

  test.each([1, 2, 3, 10, 20])('the library changes sign at zero %d of J0', (which) => {
    const zero = besselZero(0, which)
    expect(besselj(zero - 1e-6, 0) * besselj(zero + 1e-6, 0)).toBeLessThan(0)
  })
})

describe('what must hold of all of them', () => {
  test('powers of carrier and sidebands add up to the carrier alone: J0^2 + 2 J1^2 + 2 J2^2 + ... = 1 to 1e-13', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1000, noNaN: true }), (x) => {
        const all = besselJs(x, Math.ceil(x) + 60)
        const power = all.reduce((sum, level, order) => sum + (order === 0 ? 1 : 2) * level * level, 0)
        expect(Math.abs(power - 1)).toBeLessThan(1e-13)
      }),
      { numRuns: 200 },
    )
  })

  test('neighbouring orders obey J(n-1) + J(n+1) = 2n/x J(n), and more orders change none to 1e-14', () => {
    for (const x of [0.001, 0.3, 1, 2.404825557695773, 7, 63.5]) {
      const some = besselJs(x, 4)
      const more = besselJs(x, 30)
      for (const [order, level] of some.entries()) expect(Math.abs(level - (more[order] ?? 0))).toBeLessThan(1e-14)
      for (const n of [1, 2, 3])
        expect(Math.abs((some[n - 1] ?? 0) + (some[n + 1] ?? 0) - ((2 * n) / x) * (some[n] ?? 0))).toBeLessThan(1e-13)
    }
  })

  test('without modulation there is only the carrier; a tiny index has a first sideband of half of it', () => {
    expect(besselJs(0, 3)).toEqual([1, 0, 0, 0])
    expect(besselJs(1e-9, 1)[1]).toBe(0.5e-9)
    expect(besselJs(1e-5, 40).every(Number.isFinite)).toBe(true)
  })
})

test('an index below 0, half an order and a zero number 0 are mistakes of the program', () => {
  expect(() => besselJs(-1, 0)).toThrow(TypeError)
  expect(() => besselJs(1, 0.5)).toThrow(TypeError)
  expect(() => besselZero(0, 0)).toThrow(TypeError)
})
