import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { readTarget } from '../../src/quantity/parse-target.ts'
import { readValue } from '../../src/quantity/parse-value.ts'
import { prefixFor, printLimit, printTarget, printText, printValue } from '../../src/quantity/print-value.ts'
import type { Quantity, Unit } from '../../src/quantity/quantity.ts'
import type { Target } from '../../src/quantity/target.ts'

describe('a value', () => {
  test.each<readonly [value: number, unit: Unit, step: number, digits: string, shown: string]>([
    [27_205_000, 'Hz', 1, '27.205000', 'MHz'],
    [27_205_000, 'Hz', 10, '27.20500', 'MHz'],
    [1780, 'Hz', 10, '1.78', 'kHz'],
    [800, 'Hz', 1, '800', 'Hz'],
    [3.85, 'W', 0.01, '3.85', 'W'],
    [13.8, 'V', 0.01, '13.80', 'V'],
    [13.8, 'V', 0.05, '13.80', 'V'],
    [13.8, 'V', 0.009999999999, '13.80', 'V'],
    [2.4e-7, 'V', 1e-8, '0.24', '\u00b5V'],
    [0.85, 'ratio', 0.01, '85', '%'],
    [0.001, 'ratio', 0.001, '0.1', '%'],
    [5e-6, 'ratio', 1e-7, '5.0', 'ppm'],
    [0.0025, 'W', 0.0001, '2.5', 'mW'],
    [0.35, 'A', 0.001, '350', 'mA'],
    [100_000, 'ohm', 100, '100.0', 'k\u03a9'],
    [12.04, 'dB', 0.1, '12.0', 'dB'],
    [9, 'S', 1, '9', 'S'],
    [20, 's', 1, '20', 's'],
    [-12.5, 'V', 0.01, '-12.50', 'V'],
    [-0.001, 'V', 0.01, '0.00', 'V'],
    [0, 'V', 0.01, '0.00', 'V'],
    [0, 'V', 1e-8, '0.00', '\u00b5V'],
    [0.24, 'W', 0.01, '0.24', 'W'],
    [500, 'Hz', 10, '0.50', 'kHz'],
    [999.6, 'Hz', 1, '1.000', 'kHz'],
    [2.675, 'V', 0.01, '2.68', 'V'],
    [25, 'dB', 10, '30', 'dB'],
  ])('%d %s on a meter with steps of %d shows %s %s', (value, unit, step, digits, shown) => {
    expect(printValue(value, unit, step)).toEqual({ digits, unit: shown })
    expect(printText(value, unit, step)).toBe(`${digits} ${shown}`)
  })

  test.each<readonly [value: number, unit: Unit, text: string]>([
    [27_205_000, 'Hz', '27.21 MHz'],
    [3.85, 'W', '3.850 W'],
    [999.96, 'Hz', '1.000 kHz'],
    [999.6, 'Hz', '999.6 Hz'],
    [9.9996, 'V', '10.00 V'],
    [0.0005, 'ratio', '0.05000 %'],
    [0, 'W', '0 W'],
    [0, 'ratio', '0 %'],
    [2.4e-7, 'V', '0.2400 \u00b5V'],
    [1e22, 'V', '10000000000000000000 kV'],
  ])('%d %s without a step shows four significant digits: %s', (value, unit, text) => {
    expect(printText(value, unit)).toBe(text)
  })

  test('a prefix chosen once stays: 0.985 W and 1.020 W both in W', () => {
    const fixed = prefixFor(4, 'W')
    expect([0.985, 1.02].map((watts) => printText(watts, 'W', 0.001, fixed))).toEqual(['0.985 W', '1.020 W'])
    expect([0.985, 1.02].map((watts) => printText(watts, 'W', 0.001))).toEqual(['985 mW', '1.020 W'])
  })

  test('a fixed prefix finer than the step rounds to the step: 503 Hz in steps of 10 Hz is 500 Hz', () => {
    expect(printText(503, 'Hz', 10, prefixFor(500, 'Hz'))).toBe('500 Hz')
  })

  test('a prefix of another unit is a TypeError', () => {
    expect(() => printText(1, 'W', 0.1, prefixFor(1000, 'Hz'))).toThrow(new TypeError('kHz does not show W'))
    expect(() => printLimit(1, 'W', 0.1, prefixFor(1000, 'Hz'))).toThrow(new TypeError('kHz does not show W'))
  })

  test.each([Number.NaN, Number.POSITIVE_INFINITY])('%d is never printed, a TypeError', (value) => {
    expect(() => printText(value, 'V', 0.01)).toThrow(new TypeError(`${value} is no decimal number`))
  })

  test.each([0, -1, Number.NaN])('a step of %d is a TypeError', (step) => {
    expect(() => printText(1, 'V', step)).toThrow(new TypeError(`a step of ${step} is no resolution`))
  })

  const reading = fc.record({
    unit: fc.constantFrom<Unit>('Hz', 'W', 'V', 'A', 'ohm', 's', 'ratio', 'dB', 'S'),
    sign: fc.constantFrom(1, -1),
    size: fc.double({ min: 1, max: 10, noNaN: true }),
    order: fc.integer({ min: -9, max: 8 }),
    stepSize: fc.constantFrom(1, 2, 5),
    stepOrder: fc.integer({ min: -9, max: 0 }),
  })

  test('printed with a step and read again, it is within half a shown digit, and that digit is no finer than the step', () => {
    fc.assert(
      fc.property(reading, ({ unit, sign, size, order, stepSize, stepOrder }) => {
        const value = sign * size * 10 ** order
        const finest = unit === 'ratio' ? Math.min(stepOrder, -2) : stepOrder
        const printed = printValue(value, unit, Number(`${stepSize}e${finest}`))
        expect(printed.digits).toMatch(/^-?\d+(\.\d+)?$/)
        const lastDigit = lastDigitOf(printed)
        expect(Math.abs(valueShownBy(printed, unit) - value)).toBeLessThanOrEqual(
          lastDigit * 0.5 * (1 + 1e-9) + Math.abs(value) * 1e-15,
        )
        expect(lastDigit).toBeGreaterThanOrEqual(10 ** finest * (1 - 1e-9))
      }),
      { numRuns: 500 },
    )
  })

  test('printed without a step and read again, it is within 0.05 %', () => {
    fc.assert(
      fc.property(reading, ({ unit, sign, size, order }) => {
        const value = sign * size * 10 ** order
        const printed = printValue(value, unit)
        expect(Math.abs(valueShownBy(printed, unit) / value - 1)).toBeLessThanOrEqual(0.0005 * (1 + 1e-9))
      }),
      { numRuns: 500 },
    )
  })

  test('the shown number lies below 1000 wherever a larger prefix exists', () => {
    fc.assert(
      fc.property(reading, ({ unit, size, order, stepOrder }) => {
        const printed = printValue(size * 10 ** order, unit, Number(`1e${stepOrder}`))
        const largest = ['GHz', 'kW', 'kV', 'A', 'M\u03a9', 's', '%', 'dB', 'S'].includes(printed.unit)
        expect(largest || Number(printed.digits) < 1000).toBe(true)
      }),
      { numRuns: 500 },
    )
  })

  function valueShownBy(printed: { readonly digits: string; readonly unit: string }, unit: Unit): number {
    const read = readValue(`${printed.digits} ${printed.unit}`, unit)
    if (!read.ok) throw new Error(read.refused)
    return read.value
  }

  const WORTH: Readonly<Record<string, number>> = { p: -12, n: -9, '\u00b5': -6, m: -3, k: 3, M: 6, G: 9 }
  function lastDigitOf({ digits, unit }: { readonly digits: string; readonly unit: string }): number {
    const decimals = digits.split('.')[1]?.length ?? 0
    const prefixed = unit.length > 1 && unit !== 'Hz' && unit !== 'dB' && unit !== 'ppm'
    const exponent = unit === '%' ? -2 : unit === 'ppm' ? -6 : prefixed ? (WORTH[unit[0] ?? ''] ?? Number.NaN) : 0
    return Number(`1e${exponent - decimals}`)
  }
})

describe('a limit', () => {
  test('is filled up to the step and never rounded to it: 3.6 W and 3.605 W on a meter with steps of 0.01 W', () => {
    expect([printLimit(3.6, 'W', 0.01), printLimit(3.605, 'W', 0.01)]).toEqual(['3.60 W', '3.605 W'])
  })

  test('worked out from -47 dBm, it shows six significant digits of its 998.8148764833449 uV', () => {
    const read = readValue('-47 dBm', 'V')
    expect(read.ok && printLimit(read.value, 'V')).toBe('998.815 \u00b5V')
  })
})

describe('a target', () => {
  test.each<readonly [text: string, quantity: Quantity, step: number | undefined, printed: string]>([
    ['3.6 .. 4 W', 'RF power', 0.01, '3.60 .. 4.00 W'],
    ['3.6 .. 4 W', 'RF power', undefined, '3.6 .. 4.0 W'],
    ['3.6 .. 4 W', 'RF power', 1, '3.6 .. 4.0 W'],
    ['0 .. 4 A', 'DC current', 0.01, '0.00 .. 4.00 A'],
    ['800 .. 1200 Hz', 'audio tone', 1, '0.800 .. 1.200 kHz'],
    ['80 .. 90 %', 'AM depth', undefined, '80 .. 90 %'],
    ['S8 .. S9', 'signal meter', 1, '8 .. 9 S'],
    ['27.205 MHz +- 150 Hz', 'frequency', 1, '27.205000 MHz \u00b1 150 Hz'],
    ['27.205 MHz +- 5 ppm', 'frequency', 1, '27.205000 MHz \u00b1 136.025 Hz'],
    ['13.7 .. 13.9 V', 'DC voltage', 0.01, '13.80 V \u00b1 0.10 V'],
    ['13.662 .. 13.938 V', 'DC voltage', 0.01, '13.662 .. 13.938 V'],
    ['<= 0.5 uV', 'RF level', 1e-8, 'at most 0.50 \u00b5V'],
    ['>= 3.1 W', 'RF power', undefined, 'at least 3.1 W'],
    ['maximum', 'SINAD', 0.1, 'maximum'],
    ['minimum', 'audio distortion', undefined, 'minimum'],
    ['channel +- 5 ppm', 'frequency', 1, 'channel \u00b1 5 ppm'],
    ['channel +- 150 Hz', 'frequency', 1, 'channel \u00b1 150 Hz'],
  ])('"%s" of %s with steps of %s is printed %s', (text, quantity, step, printed) => {
    const read = readTarget(text, quantity)
    expect(read.ok && printTarget(read.value, quantity, step)).toBe(printed)
  })

  test('an aim out of the middle is never shown as a centre', () => {
    const target: Target = { kind: 'band', unit: 'V', low: 13.75, high: 13.9, aim: 13.8 }
    expect(printTarget(target, 'DC voltage', 0.01)).toBe('13.75 .. 13.90 V')
  })

  test('in another unit than the quantity, or open on both sides, it is a TypeError', () => {
    const target: Target = { kind: 'band', unit: 'V', low: 1, high: 2, aim: 1.5 }
    expect(() => printTarget(target, 'RF power')).toThrow(new TypeError('target in V, RF power in W'))
    expect(() => printTarget({ ...target, low: null, high: null, aim: null }, 'DC voltage')).toThrow(
      new TypeError('a band open on both sides is no target'),
    )
  })

  test('printed with any step and read again, a typed target is the same target to the last bit', () => {
    const kinds = fc.constantFrom<(a: number, b: number) => string>(
      (a, b) => `${a / 1000} .. ${(a + b) / 1000} W`,
      (a, b) => `${a / 1000} W +- ${b} mW`,
      (a, b) => `${a / 1000} W +- ${b / 100} %`,
      (a) => `at most ${a} uW`,
      (a) => `at least ${a / 1000} W`,
    )
    const size = fc.integer({ min: 1, max: 99_999 })
    const step = fc.option(fc.constantFrom(1, 0.1, 0.05, 0.01, 1e-4), { nil: undefined })
    fc.assert(
      fc.property(kinds, size, size, step, (write, a, b, meterStep) => {
        const read = readTarget(write(a, b), 'RF power')
        if (!read.ok) throw new Error(read.refused)
        expect(readTarget(printTarget(read.value, 'RF power', meterStep), 'RF power')).toEqual(read)
      }),
      { numRuns: 500 },
    )
  })
})
