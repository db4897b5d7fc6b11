import fc from 'fast-check'
import { expect, test } from 'vitest'
import {
  returnLossDb,
  sentBack,
  vswrFromPowers,
  vswrFromReturnLoss,
  vswrOf,
} from '../../../src/core/radio/return-loss.ts'
import { reflectionOf } from '../../../src/core/uncertainty/mismatch.ts'

// COMPUTED: (VSWR - 1)/(VSWR + 1), -20 lg of it, its square
test.each([
  [1.2, 0.0909, 20.828, 0.83],
  [1.5, 0.2, 13.979, 4],
  [2, 0.3333, 9.542, 11.11],
  [3, 0.5, 6.021, 25],
])('VSWR %d: reflection %d, return loss %d dB, %d %% of the power sent back', (vswr, reflection, db, percent) => {
  expect(reflectionOf(vswr)).toBeCloseTo(reflection, 4)
  expect(returnLossDb(vswr)).toBeCloseTo(db, 3)
  expect(100 * sentBack(vswr)).toBeCloseTo(percent, 2)
  expect(vswrFromReturnLoss(returnLossDb(vswr))).toBeCloseTo(vswr, 12)
})

test('4 W out and 0.16 W back is VSWR 1.5', () => {
  expect(vswrFromPowers(4, 0.16)).toBeCloseTo(1.5, 12)
})

test('a matched load sends nothing back; one that sends all back has no ratio', () => {
  expect(returnLossDb(1)).toBe(Number.POSITIVE_INFINITY)
  expect(vswrFromPowers(4, 0)).toBe(1)
  expect(() => vswrFromPowers(4, 4)).toThrow(TypeError)
})

test('reflection and standing wave ratio lead back to each other to 1e-12', () => {
  fc.assert(
    fc.property(fc.double({ min: 0, max: 0.99, noNaN: true }), (reflection) => {
      expect(reflectionOf(vswrOf(reflection))).toBeCloseTo(reflection, 12)
    }),
  )
})
