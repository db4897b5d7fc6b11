import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { keyedS, restLeftS, runKeyClock, startKeyClock } from '../../../../src/core/job/state/key-down.ts'

const budget = { atMostS: 15, restS: 45 }
const run = (steps: readonly (readonly [seconds: number, keyed: boolean])[]) => {
  let atMs = 0
  let clock = startKeyClock(0)
  for (const [seconds, keyed] of steps) {
    clock = runKeyClock(clock, atMs, keyed, budget)
    atMs += seconds * 1000
    clock = runKeyClock(clock, atMs, keyed, budget)
  }
  return clock
}

describe('the key-down clock, 15 s then 45 s rest', () => {
  test('is used up after 15 s and at 120 % after 18 s', () => {
    expect(run([[15, true]]).used).toBeCloseTo(1, 9)
    expect(run([[18, true]]).used).toBeCloseTo(1.2, 9)
  })

  test('a whole key-down is followed by the whole rest of 45 s', () => {
    const released = run([
      [15, true],
      [0.001, false],
    ])
    expect(restLeftS(released, budget)).toBeCloseTo(45, 1)
    expect(
      restLeftS(
        run([
          [15, true],
          [45.1, false],
        ]),
        budget,
      ),
    ).toBe(0)
  })

  test('a short key-down of 5 s calls for no rest, yet is counted into the next', () => {
    const released = run([
      [5, true],
      [1, false],
    ])
    expect(restLeftS(released, budget)).toBe(0)
    expect(
      run([
        [5, true],
        [1, false],
        [10, true],
      ]).used,
    ).toBeCloseTo(1 - 1 / 45, 6)
  })

  test('seconds are those of this key-down, the total those of the job', () => {
    const clock = run([
      [4, true],
      [2, false],
      [3, true],
    ])
    expect(keyedS(clock)).toBeCloseTo(3, 9)
    expect(clock.totalS).toBeCloseTo(7, 9)
  })

  test('never goes below nothing used, and never rests while keyed', () => {
    const steps = fc.array(fc.tuple(fc.double({ min: 0, max: 60, noNaN: true }), fc.boolean()), { maxLength: 40 })
    fc.assert(
      fc.property(steps, (list) => {
        const clock = run(list)
        return clock.used >= 0 && (!clock.keyed || !clock.resting)
      }),
    )
  })
})
