import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import {
  add,
  decimalOf,
  decimalsOf,
  digitCount,
  half,
  negate,
  orderOf,
  readDecimal,
  shift,
  times,
  toDigits,
  toNumber,
} from '../../src/quantity/decimal.ts'

const value = fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e30, max: 1e30 })

describe('reading', () => {
  test.each([
    ['13.8', 13.8],
    ['+13.80', 13.8],
    ['-0.05', -0.05],
    ['1e-3', 0.001],
    ['1.5E+3', 1500],
    ['0', 0],
    ['-0.0', 0],
    ['0e999999999', 0],
    ['007', 7],
  ])('%s is read as %d', (text, number) => {
    const decimal = readDecimal(text)
    expect(decimal === null ? null : toNumber(decimal)).toBe(number)
  })

  test.each(['', '.5', '5.', '1,5', 'NaN', 'Infinity', '0x10', '1e', '--1', '1 2', '1e400', '-1e400', '1e-400', ' 1'])(
    '"%s" is no decimal number',
    (text) => {
      expect(readDecimal(text)).toBeNull()
    },
  )

  test.each([Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])(
    '%d is refused with a TypeError',
    (bad) => {
      expect(() => decimalOf(bad)).toThrow(new TypeError(`${bad} is no decimal number`))
    },
  )

  test('every finite double comes back as itself', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (number) => {
        expect(toNumber(decimalOf(number))).toBe(number + 0)
      }),
    )
  })
})

describe('arithmetic is exact', () => {
  test('3.85 less 0.05 is 3.8, which doubles miss by 4e-16', () => {
    expect(toNumber(add(decimalOf(3.85), negate(decimalOf(0.05))))).toBe(3.8)
    expect(3.85 - 0.05).not.toBe(3.8)
  })

  test('5 ppm of 27.205 MHz is 136.025 Hz', () => {
    expect(toNumber(times(decimalOf(27_205_000), decimalOf(5e-6)))).toBe(136.025)
  })

  test('half of 7.5 is 3.75, and shifting 3.75 by -3 gives 0.00375', () => {
    expect(toNumber(half(decimalOf(7.5)))).toBe(3.75)
    expect(toNumber(shift(decimalOf(3.75), -3))).toBe(0.00375)
  })

  test('a sum in thousandths equals the sum of whole numbers', () => {
    const whole = fc.integer({ min: -1_000_000_000, max: 1_000_000_000 })
    fc.assert(
      fc.property(whole, whole, (a, b) => {
        const sum = add(shift(decimalOf(a), -3), shift(decimalOf(b), -3))
        expect(toNumber(shift(sum, 3))).toBe(a + b)
      }),
    )
  })

  test('the largest and the smallest double can be added', () => {
    expect(toNumber(add(decimalOf(Number.MAX_VALUE), decimalOf(Number.MIN_VALUE)))).toBe(Number.MAX_VALUE)
  })
})

describe('digits', () => {
  test.each([
    [27_205_000, 6, '27205000.000000'],
    [13.8, 2, '13.80'],
    [2.675, 2, '2.68'],
    [1.005, 2, '1.01'],
    [-1.005, 2, '-1.01'],
    [0.5, 0, '1'],
    [-0.5, 0, '-1'],
    [-0.4, 0, '0'],
    [-0.001, 2, '0.00'],
    [0.06, 1, '0.1'],
    [549, -2, '500'],
    [550, -2, '600'],
    [4, -1, '0'],
    [0, 3, '0.000'],
    [1e22, 1, '10000000000000000000000.0'],
    [1e-7, 8, '0.00000010'],
  ])('%d with %d decimals is written %s', (number, decimals, digits) => {
    expect(toDigits(decimalOf(number), decimals)).toBe(digits)
  })

  test('rounding is never off by more than half of the last digit', () => {
    fc.assert(
      fc.property(value, fc.integer({ min: -3, max: 9 }), (number, decimals) => {
        const exact = decimalOf(number)
        const written = readDecimal(toDigits(exact, decimals))
        if (written === null) throw new Error('not a number')
        const error = add(written, negate(exact))
        const bound = half({ coefficient: 1n, exponent: -decimals })
        const spare = add(bound, error.coefficient < 0n ? error : negate(error))
        expect(spare.coefficient >= 0n).toBe(true)
      }),
    )
  })

  test.each([
    [13.8, 1, 3, 1],
    [0.05, 2, 1, -2],
    [27_205_000, 0, 5, 7],
    [100, 0, 1, 2],
    [0, 0, 1, 0],
    [-136.025, 3, 6, 2],
  ])('%d needs %d decimals, has %d digits and is of order %d', (number, decimals, digits, order) => {
    const exact = decimalOf(number)
    expect([decimalsOf(exact), digitCount(exact), orderOf(exact)]).toEqual([decimals, digits, order])
  })
})
