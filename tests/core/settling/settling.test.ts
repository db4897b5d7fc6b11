import { describe, expect, test } from 'vitest'
import { type SettleRule, settleRule } from '../../../src/core/settling/settle-rule.ts'
import { addToSettling, type SettleState, short, startSettling } from '../../../src/core/settling/settling.ts'
import { normal, seededRng } from '../../../src/system/rng.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

const volts = settleRule({ halfWidth: 0.2, facts: METER_FACTS.volts })
const hertz = settleRule({ halfWidth: 150, facts: METER_FACTS.counter })
const watts = settleRule({ halfWidth: 0.2, facts: METER_FACTS.power })

/** Feeds `value(atS)` every `rule.everyS` from the first reading on; stops at `untilS` or when `until` says so. */
function feed(
  rule: SettleRule,
  value: (atS: number, index: number) => number,
  until: (state: SettleState, atS: number) => boolean,
  from: { state: SettleState; atS: number } = { state: startSettling(), atS: rule.everyS },
): { state: SettleState; atS: number } {
  let { state, atS } = from
  for (let index = 0; index < 10_000; index++) {
    state = addToSettling(state, { atS, value: value(atS, index) }, rule)
    if (until(state, atS)) return { state, atS }
    atS += rule.everyS
  }
  throw new Error(`still ${state.verdict} after ${atS} s`)
}

/** A voltmeter quieter than its display step, which may repeat itself. */
const quiet = { ...settleRule({ halfWidth: 0.2, facts: METER_FACTS.volts }), sigma: 0.0002 }

const settled = (state: SettleState) => state.verdict === 'settled'
const upTo = (endS: number) => (_: SettleState, atS: number) => atS >= endS - 1e-9

describe('how long a steady reading takes after the hold-off', () => {
  test('a voltmeter of 1 mV noise against 50 mV, five a second: 2.5 s', () => {
    const rng = seededRng(1)
    const { state, atS } = feed(volts, () => 2.4 + 0.001 * normal(rng), settled)
    expect(atS).toBeLessThanOrEqual(2.6)
    expect(state.value).toBeCloseTo(2.4, 2)
  })

  test('a power meter of 0.5 % noise against 50 mW at 3.85 W, four a second: at most 5.5 s', () => {
    const rng = seededRng(2)
    const { state, atS } = feed(watts, () => 3.85 * (1 + 0.005 * normal(rng)), settled)
    expect(atS).toBeLessThanOrEqual(5.5)
    expect(Math.abs(state.value - 3.85)).toBeLessThan(0.0125)
  })

  test('a counter with a 1 s gate and 1 Hz noise against 37.5 Hz: three gates agree, the fourth confirms', () => {
    const rng = seededRng(3)
    const { state, atS } = feed(hertz, () => 27.205e6 + 12 + normal(rng), settled)
    expect(atS).toBeCloseTo(4 * 1.05, 6)
    expect(state.count).toBeGreaterThanOrEqual(3)
    expect(Math.abs(state.value - 27.205012e6)).toBeLessThan(3)
  })

  test('the same counter with 9 Hz noise stated: four gates make a line good enough, the fifth confirms, however alike they look', () => {
    const { atS } = feed({ ...hertz, sigma: 9 }, () => 27.205e6, settled)
    expect(atS).toBeCloseTo(5 * 1.05, 6)
  })

  test('a peak: 0.02 dB noise against 0.05 dB, at 5.5 W and at 5.5 mW alike', () => {
    const rule = settleRule({ halfWidth: null, facts: { ...METER_FACTS.power, step: 0 } })
    const timesS = [5.5, 5.5e-3].map((level) => {
      const rng = seededRng(4)
      return feed(rule, () => level * 10 ** ((0.02 * normal(rng)) / 10), settled).atS
    })
    expect(timesS[0]).toBeLessThan(7)
    expect(timesS[1]).toBe(timesS[0])
  })
})

describe('what is captured', () => {
  test('the mean moved half way along the slope: on a slope of 8 mV/s the newest is 1/4 window ahead', () => {
    const { state, atS } = feed(volts, (at) => 2.4 + 0.008 * at, settled)
    expect(state.slope).toBeCloseTo(0.008, 6)
    expect(state.value).toBeCloseTo(2.4 + 0.008 * (atS - state.windowS / 4), 6)
    expect(state.mean).toBeCloseTo(2.4 + 0.008 * (atS - state.windowS / 2), 6)
  })

  test('spread and standard error are those of the window', () => {
    const rng = seededRng(5)
    const { state } = feed(watts, () => 3.85 + 0.02 * normal(rng), upTo(12))
    expect(state.verdict).toBe('settled')
    expect(state.spread).toBeGreaterThan(0.008)
    expect(state.spread).toBeLessThan(0.04)
    expect(state.standardError).toBeLessThanOrEqual(0.0125)
  })

  test('a slope of 20 mV/s never passes 50 mV in 5 s', () => {
    expect(feed(volts, (at) => 2.4 + 0.02 * at, upTo(60)).state.verdict).toBe('settling')
  })

  test('a settled value is left when the reading moves by two deltas, and found again', () => {
    const first = feed(quiet, () => 2.4, settled)
    const gone = feed(
      quiet,
      () => 2.5,
      (state) => !settled(state),
      { state: first.state, atS: first.atS + 0.2 },
    )
    expect(gone.atS - first.atS).toBeLessThanOrEqual(0.61)
    const back = feed(quiet, () => 2.5, settled, { state: gone.state, atS: gone.atS + 0.2 })
    expect(back.state.value).toBeCloseTo(2.5, 3)
  })

  test('the share goes from 0 to 1 and is 0.6 when the last second of agreement begins', () => {
    const shares: number[] = []
    feed(
      volts,
      (_, index) => 2.4 + (index % 2) * 0.001,
      (state) => {
        shares.push(state.share)
        return settled(state)
      },
    )
    expect(shares[0]).toBe(0)
    expect(shares.at(-1)).toBe(1)
    expect(shares).toContain(0.6 + 0.4 * 1e-9)
    expect([...shares].sort((a, b) => a - b)).toEqual(shares)
  })
})

describe('what a bare test misses', () => {
  test('lone spikes count for nothing; the reading settles all the same', () => {
    const { state } = feed(
      volts,
      (_, index) => (index === 6 || index === 13 ? 3.1 : 2.4 + (index % 3) * 0.001),
      upTo(4),
    )
    expect(state).toMatchObject({ verdict: 'settled', aside: 2 })
    expect(state.value).toBeCloseTo(2.4, 2)
  })

  test('one spike in six readings is erratic', () => {
    const { state } = feed(volts, (_, index) => (index % 6 === 5 ? 3.1 : 2.4 + (index % 3) * 0.001), upTo(8))
    expect(state.verdict).toBe('erratic')
  })

  test('21 times the same from a meter whose noise is above its step is frozen, and was never settled', () => {
    const noisy = { ...volts, sigma: 0.002 }
    const verdicts = new Set<string>()
    const { state } = feed(
      noisy,
      () => 2.4,
      (now, atS) => {
        verdicts.add(now.verdict)
        return atS >= 21 * 0.2 - 1e-9
      },
    )
    expect(state.verdict).toBe('frozen')
    expect(verdicts.has('settled')).toBe(false)
  })

  test('a quiet meter may repeat itself as often as it likes', () => {
    expect(feed(quiet, () => 2.4, upTo(20)).state.verdict).toBe('settled')
  })

  test('a reading that jumps between 2.3 and 2.5 V is two-valued, with both', () => {
    const rng = seededRng(6)
    const { state } = feed(volts, () => (rng() < 0.5 ? 2.3 : 2.5) + 0.001 * normal(rng), upTo(6))
    expect(state.verdict).toBe('two-valued')
    expect(state.heaps?.[0]).toBeCloseTo(2.3, 2)
    expect(state.heaps?.[1]).toBeCloseTo(2.5, 2)
  })

  test('a step is not two-valued, nor is a display that wavers between two neighbouring digits', () => {
    expect(feed(volts, (atS) => (atS < 4 ? 2.3 : 2.5), upTo(5)).state.verdict).not.toBe('two-valued')
    const coarse = { ...volts, step: 0.025 }
    expect(feed(coarse, (_, index) => 2.4 + 0.025 * (index % 2), upTo(8)).state.verdict).toBe('settled')
  })

  test('noise of three deltas is too noisy once the longest window is full, not before', () => {
    const rng = seededRng(7)
    const { state, atS } = feed(
      watts,
      () => 3.85 + 0.15 * normal(rng),
      (now, at) => now.verdict === 'too noisy' || at > 30,
    )
    expect(state.verdict).toBe('too noisy')
    expect(atS).toBeGreaterThan(9.5)
    expect(atS).toBeLessThan(12)
  })

  test('a turning hand is settling, not noise', () => {
    const verdicts = new Set<string>()
    feed(
      watts,
      (atS) => 3 + Math.abs(((0.4 * atS) % 2) - 1),
      (state, atS) => {
        verdicts.add(state.verdict)
        return atS > 40
      },
    )
    expect([...verdicts].sort()).toEqual(['settling', 'waiting'])
  })

  test('a slow hum of 1.5 deltas and 10 s is not taken for rest at its crest', () => {
    const verdicts = new Set<string>()
    feed(
      volts,
      (atS) => 2.4 + 0.075 * Math.sin((2 * Math.PI * atS) / 10),
      (state, atS) => {
        verdicts.add(state.verdict)
        return atS > 60
      },
    )
    expect(verdicts.has('settled')).toBe(false)
  })
})

describe('the thread of readings', () => {
  test('what is no number, or no later than the last, changes nothing', () => {
    const { state, atS } = feed(volts, () => 2.4, upTo(1))
    expect(addToSettling(state, { atS: atS + 1, value: Number.NaN }, volts)).toBe(state)
    expect(addToSettling(state, { atS: atS + 1, value: Number.POSITIVE_INFINITY }, volts)).toBe(state)
    expect(addToSettling(state, { atS, value: 2.5 }, volts)).toBe(state)
  })

  test('a gap of 5 s begins anew: what was before is no neighbour of what comes after', () => {
    const { state, atS } = feed(quiet, () => 2.4, settled)
    const later = addToSettling(state, { atS: atS + 5, value: 2.4 }, quiet)
    expect(later).toMatchObject({ verdict: 'waiting', share: 0 })
    expect(later.samples).toHaveLength(1)
  })

  test('keeps 200 readings at most, and no more than 10 s of them', () => {
    const fast = { ...volts, everyS: 0.01 }
    expect(feed(fast, (_, index) => 2.4 + (index % 5) * 1e-3, upTo(20)).state.samples).toHaveLength(200)
    expect(feed(volts, (_, index) => 2.4 + (index % 5) * 1e-3, upTo(60)).state.samples.length).toBeLessThanOrEqual(51)
  })
})

describe('a check too brief to settle', () => {
  test('two readings say nothing; three say mean, spread and slope', () => {
    const two = feed(watts, (_, index) => 3.8 + 0.02 * index, upTo(0.5)).state
    expect(short(two)).toBeNull()
    const three = short(feed(watts, (_, index) => 3.8 + 0.02 * index, upTo(0.75)).state)
    expect(three?.count).toBe(3)
    expect(three?.mean).toBeCloseTo(3.82, 9)
    expect(three?.spread).toBeCloseTo(0.02, 9)
    expect(three?.slope).toBeCloseTo(0.08, 9)
    expect(three?.standardError).toBeCloseTo(0.02 / Math.sqrt(3), 9)
    expect(three?.windowS).toBeCloseTo(0.5, 9)
  })
})
