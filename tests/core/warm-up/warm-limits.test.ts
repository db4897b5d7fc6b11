import { describe, expect, test } from 'vitest'
import { awayFromEnd, driftAt, endOf, type WarmSample, warmFit } from '../../../src/core/warm-up/warm-fit.ts'
import { addWarmSample, startWarmUp, type WarmUp, warmUpOf } from '../../../src/core/warm-up/warm-up.ts'
import { normal, seededRng } from '../../../src/system/rng.ts'

/** A set that still moves 80 Hz, with 420 s, towards 27.205 MHz. */
const END_HZ = 27_205_000
const hzAt = (atS: number) => END_HZ + 80 * Math.exp(-atS / 420)

function watched(samples: readonly WarmSample[], noiseHz?: number): WarmUp {
  const rule = { driftHzPerMin: 5, ...(noiseHz === undefined ? {} : { noiseHz }) }
  return samples.reduce(addWarmSample, startWarmUp(rule))
}

/** One each `everyS`, to `untilS`, with a change where one is wanted. */
function every(everyS: number, untilS: number, change: (atS: number) => number = () => 0): readonly WarmSample[] {
  return Array.from({ length: Math.floor(untilS / everyS) + 1 }, (_, index) => {
    const atS = index * everyS
    return { atS, hz: hzAt(atS) + change(atS) }
  })
}

/**
 * The same question answered the long way: each of 4000 time constants from 120 to 1200 s, evenly by their logarithm, a straight line
 * against exp(-t / tau) by the normal equations, weighed by Student's likelihood with six samples' worth of the stated noise.
 */
function theLongWay(samples: readonly WarmSample[], noiseHz: number, aheadS: number) {
  const [from] = samples
  if (!from) throw new TypeError('no samples')
  const n = samples.length
  const each = Array.from({ length: 4000 }, (_, index) => {
    const tauS = 120 * 10 ** (index / 3999)
    const x = samples.map(({ atS }) => Math.exp(-(atS - from.atS) / tauS))
    const y = samples.map(({ hz }) => hz - from.hz)
    const sum = (of: (at: number) => number) => x.reduce((so, _, at) => so + of(at), 0)
    const [sx, sy] = [sum((at) => x[at] ?? 0), sum((at) => y[at] ?? 0)]
    const [sxx, sxy] = [sum((at) => (x[at] ?? 0) ** 2), sum((at) => (x[at] ?? 0) * (y[at] ?? 0))]
    const det = n * sxx - sx * sx
    const size = (n * sxy - sx * sy) / det
    const end = (sy - size * sx) / n
    const left = sum((at) => ((y[at] ?? 0) - end - size * (x[at] ?? 0)) ** 2)
    const free = n - 2 + 6
    const variance = (left + 6 * noiseHz * noiseHz) / free
    const fade = Math.exp(-aheadS / tauS)
    const sizeError = Math.sqrt((variance * n) / det)
    return {
      log: (-free / 2) * Math.log(variance),
      end: [from.hz + end, Math.sqrt((variance * sxx) / det)],
      away: [size * fade, sizeError * fade],
      drift: [(-size * fade) / tauS, (sizeError * fade) / tauS],
    } as const
  })
  const best = Math.max(...each.map(({ log }) => log))
  const weights = each.map(({ log }) => Math.exp(log - best))
  const all = weights.reduce((so, one) => so + one, 0)
  const mean = (pick: (one: (typeof each)[number]) => readonly [number, number] | readonly number[]) => {
    const of = (at: 0 | 1) => each.map((one) => pick(one)[at] ?? 0)
    const values = of(0)
    const value = values.reduce((so, one, at) => so + ((weights[at] ?? 0) / all) * one, 0)
    const errors = of(1)
    const variance = values.reduce(
      (so, one, at) => so + ((weights[at] ?? 0) / all) * ((one - value) ** 2 + (errors[at] ?? 0) ** 2),
      0,
    )
    return { value, error: Math.sqrt(variance) }
  }
  return { end: mean(({ end }) => end), away: mean(({ away }) => away), drift: mean(({ drift }) => drift) }
}

describe('end, way to go and drift, each with its doubt, are those of all time constants that the samples leave possible', () => {
  test.each([
    ['5 samples in 4 min', 60, 240, 1],
    ['11 samples in 5 min', 30, 300, 1],
    ['61 samples in 10 min', 10, 600, 1],
    ['7 samples in 6 min, of a counter with 4 Hz noise', 60, 360, 4],
    ['9 samples, stated noise 1 Hz, seen 5 Hz', 60, 480, 1, 5],
  ] as const)('%s', (_, everyS, untilS, noiseHz, seenHz: number = noiseHz) => {
    const rng = seededRng(3)
    const samples = every(everyS, untilS, () => seenHz * normal(rng)).map((one) => ({ ...one, atS: one.atS + 700 }))
    const fit = warmFit(samples, noiseHz)
    const is = theLongWay(samples, noiseHz, untilS)
    const seen = {
      end: endOf(fit),
      away: awayFromEnd(fit, 700 + untilS),
      drift: driftAt(fit, 700 + untilS),
    }
    for (const key of ['end', 'away', 'drift'] as const) {
      expect(Math.abs(seen[key].value - is[key].value) / is[key].error).toBeLessThan(0.04)
      expect(Math.abs(seen[key].error / is[key].error - 1)).toBeLessThan(0.04)
    }
  })

  test('two samples make no curve', () => {
    expect(() => warmFit(every(60, 60), 1)).toThrow(TypeError)
    expect(warmFit(every(60, 120), 1).curves.length).toBeGreaterThan(0)
  })
})

describe('what is said of it', () => {
  const rng = seededRng(4)
  const state = watched(every(30, 300, () => normal(rng)))

  test('twice the standard errors, by the minute, at the moment that is asked for or the last sample', () => {
    const { fit } = state
    if (!fit) throw new TypeError('no fit')
    for (const [nowS, atS] of [
      [300, 300],
      [360, 360],
      [200, 300],
    ] as const) {
      const view = warmUpOf(state, nowS)
      expect(view.driftHzPerMin).toBeCloseTo(60 * driftAt(fit, atS).value, 9)
      expect(view.driftDoubtHzPerMin).toBeCloseTo(120 * driftAt(fit, atS).error, 9)
      expect(view.endHz).toBe(endOf(fit).value)
      expect(view.endDoubtHz).toBeCloseTo(2 * endOf(fit).error, 9)
      expect(view.aimOffsetHz).toBe(awayFromEnd(fit, atS).value)
    }
  })

  test.each([5, 3, 0.5])(
    'ready, for at most %d Hz/min, is the first second at which drift and one standard error are below',
    (limit) => {
      const { fit } = state
      if (!fit) throw new TypeError('no fit')
      const { readyInS } = warmUpOf({ ...state, rule: { driftHzPerMin: limit } }, 300)
      const moves = (inS: number) => {
        const { value, error } = driftAt(fit, 300 + inS)
        return 60 * (Math.abs(value) + error)
      }
      expect(readyInS).toBeGreaterThan(30)
      expect(moves(readyInS ?? 0)).toBeLessThan(limit)
      expect(moves((readyInS ?? 0) - 1.001)).toBeGreaterThanOrEqual(limit)
    },
  )

  test('nearly ready is ready in 30 s, not sooner; warm is 0 s, with two standard errors to spare', () => {
    const { fit } = state
    if (!fit) throw new TypeError('no fit')
    const { value, error } = driftAt(fit, 300)
    const at = (errors: number) => ({ ...state, rule: { driftHzPerMin: 60 * (Math.abs(value) + errors * error) } })
    expect(warmUpOf(at(1.9), 300)).toMatchObject({ verdict: 'warming', readyInS: 30 })
    expect(warmUpOf(at(2.1), 300)).toMatchObject({ verdict: 'ready', readyInS: 0 })
  })

  test('before 2 min or three samples nothing is', () => {
    expect(warmUpOf(watched(every(60, 120)), 120).verdict).toBe('warming')
    expect(warmUpOf(watched(every(59, 118)), 500).verdict).toBe('too early')
    expect(warmUpOf(watched(every(120, 120)), 500).verdict).toBe('too early')
  })
})

describe('which samples are kept', () => {
  test('those of the last 40 min, 480 at most', () => {
    const long = watched(every(60, 2460)).samples
    expect([long[0]?.atS, long.at(-1)?.atS]).toEqual([60, 2460])
    const many = watched(every(2, 1200)).samples
    expect(many).toHaveLength(480)
    expect(many.at(-1)?.atS).toBe(1200)
  })

  test('one that is no number, has no time, or is no later than the last changes nothing', () => {
    const state = watched(every(30, 300))
    for (const sample of [
      { atS: 330, hz: Number.NaN },
      { atS: Number.POSITIVE_INFINITY, hz: END_HZ },
      { atS: 300, hz: END_HZ },
      { atS: 299, hz: END_HZ },
    ])
      expect(addWarmSample(state, sample)).toBe(state)
  })

  test.each([
    ['two on the two sides: the first is left out', (atS: number) => (atS === 630 ? 40 : atS === 660 ? -40 : 0), 0, 22],
    ['two on one side: it begins anew with them', (atS: number) => (atS >= 630 ? 40 : 0), 1, 2],
    ['two on one side below', (atS: number) => (atS >= 630 ? -40 : 0), 1, 2],
    ['one off before 2 min is no mistake', (atS: number) => (atS === 90 ? 50 : 0), 0, 23],
  ])('%s', (_, change, jumps, count) => {
    const state = watched(every(30, 660, change))
    expect(state.jumps).toBe(jumps)
    expect(state.samples).toHaveLength(count)
  })

  /** How far off a lone sample may be at `offS`, Hz, above and below, before it is left out. */
  function mostOff(everyS: number, offS: number, noiseHz: number): readonly number[] {
    return [1, -1].map((side) => {
      const isKept = (hz: number) =>
        watched(
          every(everyS, offS + everyS, (atS) => (atS === offS ? side * hz : 0)),
          noiseHz,
        ).samples.some(({ atS }) => atS === offS)
      let [kept, out] = [0, 1000 * noiseHz]
      while (out - kept > 0.01 * noiseHz) {
        const middle = (kept + out) / 2
        if (isKept(middle)) kept = middle
        else out = middle
      }
      return kept
    })
  }

  test.each([1, 3])('with many behind it a lone one is left out from eight times the noise of %d Hz on', (noiseHz) => {
    for (const mostHz of mostOff(6, 1800, noiseHz)) expect(mostHz / noiseHz).toBeCloseTo(8, 1)
  })

  test('with few, from five times what noise, end and way to go leave in doubt', () => {
    const fit = warmFit(every(60, 240), 1)
    const errors = Math.hypot(1, endOf(fit).error, awayFromEnd(fit, 300).error)
    expect(5 * errors).toBeGreaterThan(20)
    for (const mostHz of mostOff(60, 300, 1)) expect(mostHz / errors).toBeCloseTo(5, 0)
  })

  test('what was left out leaves the curve as it was: a second one is known as well', () => {
    const state = watched(every(30, 720, (atS) => (atS === 630 || atS === 690 ? 90 : 0)))
    expect(state.jumps).toBe(0)
    expect(state.samples.map(({ atS }) => atS)).not.toContain(630)
    expect(state.samples.map(({ atS }) => atS)).not.toContain(690)
    expect(Math.abs((warmUpOf(state, 720).endHz ?? 0) - END_HZ)).toBeLessThan(1)
  })

  test('begun anew, it is too early again, and then predicted', () => {
    const moved = (untilS: number) => watched(every(30, untilS, (atS) => (atS >= 630 ? 300 : 0)))
    expect(warmUpOf(moved(720), 720).verdict).toBe('too early')
    const view = warmUpOf(moved(1200), 1200)
    expect(Math.abs((view.endHz ?? 0) - END_HZ - 300)).toBeLessThan(view.endDoubtHz ?? 0)
    expect(moved(1200).jumps).toBe(1)
  })
})

test('a limit or a noise of nothing, or below, is refused', () => {
  for (const rule of [{ driftHzPerMin: 0 }, { driftHzPerMin: -1 }, { driftHzPerMin: Number.NaN }])
    expect(() => startWarmUp(rule)).toThrow(TypeError)
  for (const noiseHz of [0, -1]) expect(() => startWarmUp({ driftHzPerMin: 5, noiseHz })).toThrow(TypeError)
})
