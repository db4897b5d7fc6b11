import fc from 'fast-check'
import { expect, test } from 'vitest'
import { median } from '../../../src/core/statistics/median.ts'

test('is what stands in the middle of the sorted values, of an even number the lower one; its values stay as they were', () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: -9, max: 9 }), { minLength: 1, maxLength: 60 }), (values) => {
      const before = [...values]
      expect(median(values)).toBe(values.toSorted((a, b) => a - b)[(values.length - 1) >> 1])
      expect(values).toEqual(before)
    }),
  )
  expect(median([])).toBeNaN()
})
