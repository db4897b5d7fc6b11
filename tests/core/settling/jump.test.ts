import { describe, expect, test } from 'vitest'
import { goesOnAfter, jumpIn } from '../../../src/core/settling/jump.ts'
import { addToSettling, startSettling } from '../../../src/core/settling/settling.ts'
import type { Sample } from '../../../src/core/settling/spikes.ts'
import { linesThrough } from '../../../src/core/settling/straight-line.ts'
import { normal, seededRng } from '../../../src/system/rng.ts'
import { METERS } from '../../kit/settling/settle-families.ts'
import { ruleFor } from '../../kit/settling/settle-trial.ts'

const EVERY_S = 0.25
const scale = { delta: 0.05, noise: { sigma: 0.2, floor: 0, smoothing: 0 } }

/** 40 readings of 0.01 noise about `value`, in the unit of delta 0.05. */
function seen(value: (index: number) => number, sigma = 0.01): Sample[] {
  const rng = seededRng(12)
  return Array.from({ length: 40 }, (_, index) => {
    const raw = value(index) + sigma * normal(rng)
    return { atS: index * EVERY_S, value: raw, aside: false }
  })
}

describe('a jump', () => {
  test.each([10, 25, 36])('of 1.6 delta before reading %d is found there', (at) => {
    expect(
      jumpIn(
        seen((index) => (index < at ? 0 : 0.08)),
        scale,
      ),
    ).toBe(at)
  })

  test('of several is the newest', () => {
    expect(
      jumpIn(
        seen((index) => (index < 12 ? 0 : index < 24 ? 0.2 : 0.1)),
        scale,
      ),
    ).toBe(24)
  })

  test('is neither noise nor a slope of one delta a second, nor a step of half a delta', () => {
    expect(
      jumpIn(
        seen(() => 0, 0.02),
        scale,
      ),
    ).toBe(0)
    expect(
      jumpIn(
        seen((index) => index * EVERY_S * 0.05),
        scale,
      ),
    ).toBe(0)
    expect(
      jumpIn(
        seen((index) => (index < 20 ? 0 : 0.025)),
        scale,
      ),
    ).toBe(0)
  })

  test('is not seen in the noise of a meter whose driver states none', () => {
    const unknown = { ...scale, noise: { ...scale.noise, sigma: 0 } }
    expect(
      jumpIn(
        seen(() => 0, 0.04),
        unknown,
      ),
    ).toBe(0)
    expect(
      jumpIn(
        seen((index) => (index < 20 ? 0 : 0.08)),
        unknown,
      ),
    ).toBe(20)
  })
})

describe('what goes on after a jump', () => {
  const going = (value: (index: number) => number) => {
    const samples = seen(value)
    const line = linesThrough(samples, [2], scale, EVERY_S)[0]
    if (!line) throw new Error('no line')
    return goesOnAfter(jumpIn(samples, scale), samples, line, { scale, everyS: EVERY_S, aheadS: 5 })
  }

  test('a slope of 1.5 delta in 5 s on either side', () => {
    expect(going((index) => index * EVERY_S * 0.015 + (index < 28 ? 0 : 0.15))).toBe(true)
  })

  test('not rest on either side, nor a slope that ended with the jump', () => {
    expect(going((index) => (index < 28 ? 0 : 0.15))).toBe(false)
    expect(going((index) => (index < 28 ? index * EVERY_S * 0.04 : 0.6))).toBe(false)
  })
})

test('one up and a slope down is not rest: a line through both would be flat', () => {
  const samples = seen((index) => -index * EVERY_S * 0.06 + (index < 30 ? 0 : 0.15))
  const flat = linesThrough(samples, [5], scale, EVERY_S)[0]
  expect(jumpIn(samples, scale)).toBe(30)
  expect(jumpIn(samples, scale)).toBeGreaterThan(flat?.from ?? 0)
})

test('a ramp of 1.75 to 2.75 delta in 5 s that jumps back by half of that is settled in at most 5 of 60 records', () => {
  const meter = METERS[1]
  if (!meter) throw new Error('no meter')
  const rng = seededRng(5)
  let settled = 0
  for (let record = 0; record < 60; record++) {
    const slope = 0.35 + 0.2 * rng()
    let state = startSettling()
    let said = false
    for (let atS = 0; atS < 20; atS += EVERY_S) {
      const value = slope * atS - (atS > 10 ? 4 * slope : 0) + meter.sigma * normal(rng)
      state = addToSettling(state, { atS, value }, ruleFor(meter))
      said ||= state.verdict === 'settled'
    }
    if (said) settled += 1
  }
  expect(settled).toBeLessThanOrEqual(5)
})
