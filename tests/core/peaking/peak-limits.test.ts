import { describe, expect, test } from 'vitest'
import { peakRule, resumePeak, watchPeak } from '../../../src/core/peaking/peak.ts'
import { jumpIn, jumpStands } from '../../../src/core/peaking/peak-snap.ts'
import { type PeakRule, type PeakWatch, startPeak } from '../../../src/core/peaking/peak-watch.ts'

const rule = peakRule({ sigmaDb: 0.01, latencyS: 0.3 })

/** Levels in dB, four a second, all that was said on the way. */
function seen(
  levelsDb: readonly number[],
  meter: PeakRule = rule,
  from = startPeak(),
  heating = false,
): readonly PeakWatch[] {
  const watches: PeakWatch[] = []
  let watch = from
  const fromS = (from.memory.lastAtS ?? -0.25) + 0.25
  for (const [index, db] of levelsDb.entries()) {
    watch = watchPeak(watch, { atS: fromS + index * 0.25, value: 10 ** (db / 10), heating }, meter)
    watches.push(watch)
  }
  return watches
}
const last = (...args: Parameters<typeof seen>): PeakWatch => {
  const watch = seen(...args).at(-1)
  if (!watch) throw new TypeError('nothing was fed')
  return watch
}

/** From one level to another, both included; `step` dB a reading. */
function ramp(from: number, to: number, step = 0.05): readonly number[] {
  const count = Math.round(Math.abs(to - from) / step)
  return Array.from({ length: count + 1 }, (_, index) => from + Math.sign(to - from) * index * (to === from ? 0 : step))
}
const still = (db: number, seconds: number) => Array.from({ length: Math.round(4 * seconds) }, () => db)

describe('the rule, on both sides of each limit', () => {
  test('is quick up to 0.4 s, and turned by up to 0.5 s and 0.06 dB', () => {
    const of = (latencyS: number, sigmaDb = 0.01) => peakRule({ latencyS, sigmaDb })
    expect([of(0.4).quick, of(0.41).quick]).toEqual([true, false])
    expect([of(0.5).continuous, of(0.51).continuous]).toEqual([true, false])
    expect([of(0.3, 0.06).continuous, of(0.3, 0.061).continuous]).toEqual([true, false])
    expect(of(0.3)).toMatchObject({ dip: false, unit: 'W', floor: null, step: 0, leakDbPerS: 0.003, sigmaDb: 0.01 })
    expect(of(0.3, 0.1)).toMatchObject({ overDb: expect.closeTo(0.6, 9), backDb: expect.closeTo(0.15, 9) })
    expect(of(0.3)).toMatchObject({ overDb: 0.2, backDb: 0.05 })
  })
})

describe('slowly', () => {
  const slow = peakRule({ sigmaDb: 0.01, latencyS: 0.45 })

  test('is asked for only after the top was crossed once, and only within two pass-overs of it', () => {
    const up = seen(ramp(-2, 0), slow)
    expect(up.every(({ slowly }) => !slowly)).toBe(true)
    const back = seen([...ramp(-2, 0), 0, 0, ...ramp(-0.05, -1), ...ramp(-0.95, -0.1)], slow)
    const returns = back.filter(({ phase }) => phase === 'return')
    expect(returns.length).toBeGreaterThan(8)
    for (const { slowly, belowDb } of returns) expect(slowly).toBe(belowDb < 0.4)
  })
})

describe('a stop, and no effect', () => {
  const stops = (db: number, seconds: number, meter = rule) =>
    last([...ramp(-1, db, 0.1), ...still(db, seconds)], meter).flat

  test('a stop is told 6 s and the latency after the last change, no effect after 10 s and the latency', () => {
    // the level stands when the median of three has it, one reading after it came
    expect(stops(0, 6.5)).toBe('no')
    expect(stops(0, 6.75)).toBe('stop')
    const early = peakRule({ sigmaDb: 0.01, latencyS: 0.05 })
    expect(stops(0, 6.25, early)).toBe('no')
    expect(stops(0, 6.5, early)).toBe('stop')
    expect(last(still(-1, 11)).flat).toBe('no')
    expect(last(still(-1, 11.25)).flat).toBe('nothing')
  })

  test('a change within the return window is none; a larger one begins it anew', () => {
    const wobble = (by: number) => last([...ramp(-1, 0), ...still(0, 3.5), ...still(-by, 3.5)]).flat
    expect(wobble(0.04)).toBe('stop')
    expect(wobble(0.06)).toBe('no')
  })

  test('not while it is on its way back', () => {
    const over = last([...ramp(-1, 0), 0, 0, ...ramp(-0.05, -0.5), ...ramp(-0.45, -0.2), ...still(-0.2, 12)])
    expect(over).toMatchObject({ phase: 'return', flat: 'no' })
  })
})

describe('turn back', () => {
  const told = [0, 0, 0, -0.1, -0.22, -0.22, -0.22]

  test('is said again only when it has fallen on by two pass-overs, and for 2 s', () => {
    const { turnBacks } = last(told)
    expect(turnBacks).toBe(1)
    expect(last([...told, ...still(-0.22, 5)]).turnBacks).toBe(1)
    expect(last([...told, -0.4, ...still(-0.6, 3)]).turnBacks).toBe(1)
    expect(last([...told, -0.4, ...still(-0.64, 3)]).turnBacks).toBe(2)
    expect(last([...told, -0.5, -0.7, -0.7, -0.7]).turnBacks).toBe(1)
    expect(last([...told, -0.5, ...still(-0.7, 3)]).turnBacks).toBe(2)
  })

  test('is said at the best when it has gone by two return windows', () => {
    const home = [...ramp(-1, 0), 0, 0, ...ramp(-0.05, -0.4), ...ramp(-0.35, 0), 0, 0]
    expect(last(home).phase).toBe('at best')
    expect(last([...home, -0.05, ...still(-0.095, 1)]).phase).toBe('at best')
    expect(last([...home, -0.05, ...still(-0.105, 1)]).phase).toBe('passed over')
  })

  test('a climb is one from a return window on, and a fall before it is the wrong way', () => {
    expect(last([-1, -1, -1, ...still(-0.96, 1)]).phase).toBe('start')
    expect(last([-1, -1, -1, ...still(-0.94, 1)]).phase).toBe('climb')
    expect(last([-1, -1, -1, ...still(-0.85, 1), ...ramp(-0.9, -1.1)]).phase).toBe('wrong way')
    expect(last([-1, -1, -1, ...still(-0.75, 1), ...ramp(-0.8, -1.1)]).phase).toBe('passed over')
  })
})

describe('two tops', () => {
  const over = [...ramp(-2, 0), 0, 0, ...ramp(-0.05, -2)]
  const second = (db: number) => last([...over, ...ramp(-1.95, db), db, db, ...ramp(db - 0.05, db - 0.4)])

  test('a return that turns half a dB below the best and more is another top; less is a failed return', () => {
    expect(second(-0.45)).toMatchObject({ otherTop: null, failedReturns: 1 })
    const other = second(-0.55)
    expect(other.failedReturns).toBe(0)
    expect(other.otherTop).toBeCloseTo(10 ** -0.055, 6)
  })

  test('the second failed return makes its own top the best', () => {
    const once = [...over, ...ramp(-1.95, -0.3), -0.3, -0.3, ...ramp(-0.35, -0.7)]
    const twice = last([...once, ...ramp(-0.65, -0.3), -0.3, -0.3, ...ramp(-0.35, -0.7)])
    expect(twice).toMatchObject({ failedReturns: 0, phase: 'passed over' })
    expect(twice.bestDb).toBeCloseTo(-0.3, 9)
    expect(twice.bestValue).toBeCloseTo(10 ** -0.03, 9)
  })
})

describe('heat', () => {
  test('takes 0.003 dB a second from the best while keyed, 0.2 dB at most, and gives it back with 60 s', () => {
    const climbed = [...ramp(-1, 0), 0, 0]
    const bestAfter = (seconds: number, heating: boolean) =>
      last(still(-0.3, seconds), rule, last(climbed), heating).bestDb
    // the first of the readings still shows the top, by the median of three
    expect(bestAfter(20, true)).toBeCloseTo(-0.003 * 19.75, 9)
    expect(bestAfter(120, true)).toBeCloseTo(-0.2 + 0.003 * 0.25, 9)
    expect(bestAfter(20, false)).toBeCloseTo(0, 9)
    const hot = last(still(-0.3, 40), rule, last(climbed), true)
    const rested = resumePeak(hot)
    const atS = (hot.memory.lastAtS ?? 0) + 60
    const again = watchPeak(rested, { atS, value: 10 ** -0.03, heating: false }, rule)
    expect(again.bestDb).toBeCloseTo(hot.bestDb + hot.memory.heatDb * (1 - Math.exp(-1)), 9)
  })

  test('a gap of more than 3 s is a new key-down', () => {
    const climbed = last([...ramp(-1, -0.3)])
    const gap = (seconds: number) =>
      watchPeak(climbed, { atS: (climbed.memory.lastAtS ?? 0) + seconds, value: 10 ** -0.03, heating: true }, rule)
    expect(gap(3).memory.recent).toHaveLength(3)
    expect(gap(3.01).memory.recent).toHaveLength(1)
  })
})

describe('a best is news', () => {
  test('from 0.02 dB on, and from one sigma on', () => {
    const news = (by: number, meter = rule) =>
      seen([...still(-1, 1), ...still(-1 + by, 1)], meter).filter(({ newBest }) => newBest).length
    expect(news(0.019)).toBe(0)
    expect(news(0.021)).toBe(1)
    const rough = peakRule({ sigmaDb: 0.05, latencyS: 0.3 })
    expect(news(0.049, rough)).toBe(0)
    expect(news(0.051, rough)).toBe(1)
  })
})

describe('a jump of the level with one of the current', () => {
  const heard = (...pairs: readonly (readonly [number, number | null])[]) => pairs.map(([db, amps]) => ({ db, amps }))

  test.each([
    [0.51, 1.09, true],
    [0.5, 1.09, false],
    [0.51, 1.079, false],
    [-0.51, 0.91, true],
    [-0.51, 0.93, false],
  ])('by %d dB with the current %d times what it was: %s', (db, amps, is) => {
    const jump = jumpIn(heard([0, 1], [db, amps]), 7)
    expect(jump === null).toBe(!is)
    if (jump) expect(jump).toEqual({ db: 0, amps: 1, atS: 7, up: db > 0 })
  })

  test('is told one reading later too, not without the current', () => {
    expect(jumpIn(heard([0, 1], [0.8, 1], [0.8, 1.2]), 7)).not.toBeNull()
    expect(jumpIn(heard([0, null], [0.8, 1.2]), 7)).toBeNull()
    expect(jumpIn(heard([0, 1], [0.8, null]), 7)).toBeNull()
    expect(jumpIn(heard([0.8, 1.2]), 7)).toBeNull()
  })

  const up = { db: 0, amps: 1, atS: 10, up: true }
  const down = { ...up, up: false }
  test.each([
    [up, [0.25, 1.2], 10.1, 'back'],
    [up, [0.26, 1.2], 10.1, 'yet'],
    [up, [-2, 1.2], 10.1, 'back'],
    [up, [0.8, 1.05], 14.9, 'yet'],
    [up, [0.8, 1.05], 15, 'stays'],
    [up, [0.8, null], 15, 'stays'],
    [up, [0.8, 1.2], 30, 'yet'],
    [down, [-0.25, 0.8], 10.1, 'back'],
    [down, [-0.8, 0.8], 10.9, 'yet'],
    [down, [-0.8, 0.8], 11, 'stays'],
    [down, [2, 0.8], 11, 'stays'],
  ] as const)('%j, now %j at %d s: %s', (jump, [db, amps], atS, is) => {
    expect(jumpStands(jump, heard([db, amps]), atS)).toBe(is)
  })
})
