import { expect, test } from 'vitest'
import { meanAndSpread } from '../../../src/core/statistics/mean-spread.ts'
import nist from '../../reference/nist_means.json' with { type: 'json' }

const valued = (values: readonly number[]) => values.map((value) => ({ value }))
const tenths = (first: number) => [
  first,
  ...Array.from({ length: 1000 }, (_, index) => (Math.round(first * 10) + (index % 2 === 0 ? -1 : 1)) / 10),
]
const digits = (ours: number, certified: number) =>
  ours === certified ? 16 : -Math.log10(Math.abs(ours - certified) / Math.abs(certified))

/** What the textbook's one pass makes of the same data. */
function onePass(values: readonly number[]): number {
  let sum = 0
  let squares = 0
  for (const value of values) {
    sum += value
    squares += value * value
  }
  return Math.sqrt((squares - (sum * sum) / values.length) / (values.length - 1))
}

// READ: certified by NIST StRD; the digits asked for are those that are left of sixteen behind each level
test.each([
  ['NumAcc2', nist.NumAcc2, tenths(1.2), 14],
  ['NumAcc3', nist.NumAcc3, tenths(1000000.2), 9],
  ['NumAcc4', nist.NumAcc4, tenths(10000000.2), 8],
] as const)(
  '%s: two passes keep the standard deviation, one pass has at least two digits less',
  (_, certified, data, least) => {
    const { mean, spread } = meanAndSpread(valued(data))
    expect(digits(mean, certified.mean)).toBeGreaterThanOrEqual(14)
    expect(digits(spread, certified.sd)).toBeGreaterThanOrEqual(least)
    const lost = onePass(data)
    expect(Number.isNaN(lost) ? 0 : digits(lost, certified.sd)).toBeLessThan(digits(spread, certified.sd) - 2)
  },
)

test('a counter at 27.205 MHz with 0.1 Hz scatter: the scatter is right to 1e-7', () => {
  const values = Array.from({ length: 200 }, (_, index) => 27_205_000 + (index % 2 === 0 ? -0.1 : 0.1))
  expect(meanAndSpread(valued(values)).spread / Math.sqrt((200 / 199) * 0.01)).toBeCloseTo(1, 7)
})

test('counted from an index on, the values before it do not matter', () => {
  expect(meanAndSpread(valued([1e9, 2, 4]), 1)).toEqual({ mean: 3, spread: Math.SQRT2 })
})

test('one value has a mean and no spread, none has neither', () => {
  expect(meanAndSpread(valued([5]))).toEqual({ mean: 5, spread: Number.NaN })
  expect(meanAndSpread([])).toEqual({ mean: Number.NaN, spread: Number.NaN })
})
