import { describe, expect, test } from 'vitest'
import { peakRule, resumePeak, watchPeak } from '../../../src/core/peaking/peak.ts'
import { type PeakRule, type PeakWatch, startPeak } from '../../../src/core/peaking/peak-watch.ts'

const rule = peakRule({ sigmaDb: 0.01, latencyS: 0.3 })

interface Fed {
  readonly watch: PeakWatch
  readonly atS: number
  readonly seen: readonly PeakWatch[]
}

const fresh: Fed = { watch: startPeak(), atS: 0, seen: [] }

/** Feeds levels in dB, four a second. */
function feed(
  from: Fed,
  levelsDb: readonly number[],
  more: {
    readonly rule?: PeakRule
    readonly heating?: boolean
    readonly amps?: (db: number) => number | null
    readonly gapS?: number
  } = {},
): Fed {
  let { watch, atS } = from
  const seen = [...from.seen]
  for (const [index, db] of levelsDb.entries()) {
    atS += index === 0 && more.gapS !== undefined ? more.gapS : 0.25
    watch = watchPeak(
      watch,
      { atS, value: 10 ** (db / 10), amps: more.amps?.(db) ?? null, heating: more.heating ?? false },
      more.rule ?? rule,
    )
    seen.push(watch)
  }
  return { watch, atS, seen }
}

/** A top is flat: it fills the median of three. */
const TOP = [0, 0, 0]

/** Levels from one to another, `stepDb` a reading. */
function ramp(from: number, to: number, stepDb = 0.05): number[] {
  const count = Math.round(Math.abs(to - from) / stepDb)
  return Array.from({ length: count + 1 }, (_, index) => from + Math.sign(to - from) * index * stepDb)
}

const phases = (fed: Fed) =>
  fed.seen.map((watch) => watch.phase).filter((phase, index, all) => phase !== all[index - 1])

describe('the rule', () => {
  test.each([
    [0.005, 0.2, 0.05],
    [0.02, 0.2, 0.05],
    [0.05, 0.3, 0.075],
    [0.1, 0.6, 0.15],
  ])('at a sigma of %d dB: passed over after %d dB, back within %d dB', (sigmaDb, overDb, backDb) => {
    const { overDb: over, backDb: back } = peakRule({ sigmaDb, latencyS: 0.3 })
    expect(over).toBeCloseTo(overDb, 9)
    expect(back).toBeCloseTo(backDb, 9)
  })

  test('a display that steps by 0.07 dB wants a return window of 0.077 dB', () => {
    expect(peakRule({ sigmaDb: 0.02, latencyS: 0.3, stepDb: 0.07 }).backDb).toBeCloseTo(0.077, 9)
  })

  test('a meter of 1 s latency is no meter to turn and watch by; one of 0.3 s is', () => {
    expect(peakRule({ sigmaDb: 0.02, latencyS: 1 })).toMatchObject({ continuous: false, quick: false })
    expect(rule).toMatchObject({ continuous: true, quick: true })
  })
})

describe('one way up, over, and back', () => {
  const climbed = feed(fresh, [...ramp(-2, -0.05), ...TOP])
  const over = feed(climbed, ramp(-0.05, -0.4))
  const back = feed(over, ramp(-0.35, -0.02))

  test('goes start, climb, passed over, return, at best', () => {
    expect(phases(back)).toEqual(['start', 'climb', 'passed over', 'return', 'at best'])
  })

  test('is proved after 0.20 dB of rise, not before', () => {
    const proved = climbed.seen.find((watch) => watch.proved)
    expect(proved?.fromStartDb).toBeGreaterThanOrEqual(0.2 - 1e-9)
    expect(proved?.fromStartDb).toBeLessThan(0.26)
  })

  test('never forgets the best at the reversal', () => {
    expect(over.watch.bestDb).toBeCloseTo(0, 9)
    expect(back.watch.bestDb).toBeCloseTo(0, 9)
    expect(back.watch.bestValue).toBeCloseTo(1, 9)
  })

  test('says "turn back" once, 0.20 dB down', () => {
    expect(back.watch.turnBacks).toBe(1)
    const first = over.seen.find((watch) => watch.phase === 'passed over')
    expect(first?.belowDb).toBeGreaterThanOrEqual(0.2 - 1e-9)
    expect(first?.belowDb).toBeLessThan(0.26)
  })

  test('stays at best where the hand stops, and leaves it when the hand goes on over the top', () => {
    expect(feed(back, [-0.02, -0.01, -0.03, -0.02]).watch.phase).toBe('at best')
    expect(feed(back, ramp(0, -0.3)).watch.phase).toBe('passed over')
  })

  test('a best is news when it is 0.02 dB better, not at every reading of a flat top', () => {
    expect(climbed.seen.filter((watch) => watch.newBest).length).toBeGreaterThan(30)
    expect(
      feed({ ...back, seen: [] }, [-0.02, 0.005, 0.01, 0.008, 0.012, 0.01]).seen.filter((watch) => watch.newBest),
    ).toHaveLength(0)
  })
})

describe('a start near the top', () => {
  const away = feed(fresh, [0, 0, 0, ...ramp(-0.05, -0.4)])

  test('falling 0.20 dB from it is the wrong way', () => {
    expect(phases(away)).toEqual(['start', 'wrong way'])
  })

  test('exactly at the top: back over it and down on the other side is passed over, and the start is the best', () => {
    const other = feed(away, [...ramp(-0.35, -0.05), ...TOP, ...ramp(-0.05, -0.4)])
    const home = feed(other, ramp(-0.35, 0))
    expect(phases(home)).toEqual(['start', 'wrong way', 'climb', 'passed over', 'return', 'at best'])
    expect(home.watch.bestDb).toBeCloseTo(0, 9)
  })

  test('a top found 0.04 dB lower on the way back counts as crossed, though the rise to it was less than 0.20 dB', () => {
    const slow = feed(fresh, [0, 0, 0, ...ramp(-0.02, -0.22, 0.02), -0.22])
    const home = feed(slow, [
      ...ramp(-0.2, -0.06, 0.02),
      ...TOP.map(() => -0.04),
      ...ramp(-0.06, -0.28, 0.02),
      ...ramp(-0.26, -0.04, 0.02),
      -0.04,
    ])
    expect(phases(home)).toEqual(['start', 'wrong way', 'climb', 'passed over', 'return', 'at best'])
  })

  test('0.1 dB short of the top: found on the way back, and that is the best', () => {
    const home = feed(away, [...ramp(-0.35, 0.05), 0.1, 0.1, 0.1, ...ramp(0.05, -0.25), ...ramp(-0.2, 0.1)])
    expect(home.watch.phase).toBe('at best')
    expect(home.watch.bestDb).toBeCloseTo(0.1, 9)
  })

  test('it is never at best before it was passed over once', () => {
    expect(feed(fresh, [0, 0, 0, 0, 0, 0, 0, 0]).watch.phase).toBe('start')
  })
})

describe('noise, droop and mistakes', () => {
  test('one wild reading is neither a best nor a fall', () => {
    const { watch } = feed(fresh, [...ramp(-1, -0.5), 3, ...ramp(-0.5, -0.4), -6, -0.4, -0.4])
    expect(watch.bestDb).toBeLessThan(-0.35)
    expect(watch.turnBacks).toBe(0)
  })

  test('the best leaks 0.03 dB in 10 s while heating, and not at all while not', () => {
    const still = Array.from({ length: 40 }, () => -0.01)
    const over = feed(fresh, [...ramp(-1, -0.05), ...TOP, ...ramp(-0.05, -0.3)])
    expect(
      feed(
        over,
        still.map(() => -0.3),
        { heating: true },
      ).watch.bestDb,
    ).toBeCloseTo(-0.03, 3)
    expect(
      feed(
        over,
        still.map(() => -0.3),
      ).watch.bestDb,
    ).toBeCloseTo(0, 9)
  })

  test('after two returns that top out 0.1 dB short the best is forgotten, and the third ends', () => {
    const over = feed(fresh, [...ramp(-1, -0.05), ...TOP, ...ramp(-0.05, -0.4)])
    const once = feed(over, [...ramp(-0.35, -0.15), -0.1, -0.1, -0.1, ...ramp(-0.15, -0.45)])
    expect(once.watch).toMatchObject({ phase: 'passed over', failedReturns: 1 })
    expect(once.watch.bestDb).toBeCloseTo(0, 9)
    const twice = feed(once, [...ramp(-0.35, -0.15), -0.1, -0.1, -0.1, ...ramp(-0.15, -0.45)])
    expect(twice.watch.bestDb).toBeCloseTo(-0.1, 9)
    expect(feed(twice, [...ramp(-0.4, -0.1), -0.1]).watch.phase).toBe('at best')
  })

  test('falling on for 0.4 dB and 2 s after "turn back" says it again', () => {
    expect(feed(fresh, [0, 0, 0, ...ramp(-0.05, -0.9)]).watch.turnBacks).toBe(2)
  })

  test('what has no logarithm changes nothing: 0 W, -1 W, NaN', () => {
    const { watch, atS } = feed(fresh, ramp(-1, 0))
    for (const value of [0, -1, Number.NaN]) {
      expect(watchPeak(watch, { atS: atS + 1, value, heating: true }, rule)).toEqual({ ...watch, newBest: false })
    }
  })

  test('near the top a slow meter asks for a slow hand, a quick one does not', () => {
    const levels = [...ramp(-2, 0), ...ramp(-0.05, -0.4), ...ramp(-0.35, -0.2)]
    expect(feed(fresh, levels, { rule: peakRule({ sigmaDb: 0.01, latencyS: 0.45 }) }).watch).toMatchObject({
      phase: 'return',
      slowly: true,
    })
    expect(feed(fresh, levels).watch).toMatchObject({ phase: 'return', slowly: false })
  })
})

describe('a jump', () => {
  const calm = feed(fresh, ramp(-1, -0.2), { amps: () => 1.3 })
  const amps = (db: number) => (db > 0.3 ? 1.5 : 1.3)

  test('of 0.8 dB with 15 % more current is a snap and not a new best', () => {
    const { watch } = feed(calm, [0.6, 0.62, 0.6, 0.61], { amps })
    expect(watch.phase).toBe('snap')
    expect(watch.bestDb).toBeLessThan(-0.15)
  })

  test('is told from the current one reading later, too', () => {
    const { watch } = feed(feed(calm, [0.6], { amps: () => 1.3 }), [0.62, 0.6], { amps })
    expect(watch.phase).toBe('snap')
    expect(watch.bestDb).toBeLessThan(-0.15)
  })

  test('of 0.8 dB with the current it had is a new best', () => {
    const { watch } = feed(calm, [0.6, 0.62, 0.6, 0.61], { amps: () => 1.32 })
    expect(watch.phase).toBe('climb')
    expect(watch.bestDb).toBeGreaterThan(0.55)
  })

  test('that goes back lets the guide go on where it was', () => {
    const { watch } = feed(calm, [0.6, 0.62, -0.2, -0.15, -0.1, -0.05], { amps })
    expect(watch.phase).toBe('climb')
    expect(watch.bestDb).toBeCloseTo(-0.1, 9)
  })

  test('down that stays (a slipped core) is a new place: the way must be proved again', () => {
    const { watch } = feed(calm, [-2, ...ramp(-2, -2.1, 0.01)], { amps: (db) => (db < -1.5 ? 1.1 : 1.3) })
    expect(watch).toMatchObject({ phase: 'climb', proved: false })
  })
})

describe('ends of the travel, and two tops', () => {
  test('risen by 1 dB and then nothing for 6.3 s: a stop, and coming back to it is still one', () => {
    const stopped = feed(fresh, [...ramp(-1, 0), ...Array.from({ length: 30 }, () => 0)])
    expect(stopped.watch).toMatchObject({ phase: 'climb', flat: 'stop' })
    const back = feed(stopped, [...ramp(-0.05, -0.4), ...ramp(-0.35, 0), 0, 0])
    expect(back.watch).toMatchObject({ phase: 'at best', flat: 'stop' })
  })

  test('a slow hand over a broad top is no stop', () => {
    const slow = feed(fresh, [...ramp(-1, -0.1), ...ramp(-0.1, 0, 0.01), ...ramp(0, -0.3, 0.01)])
    expect(slow.seen.every(({ flat }) => flat === 'no')).toBe(true)
    expect(slow.watch.phase).toBe('passed over')
  })

  test('a stop that gives way goes on as a climb', () => {
    const stopped = feed(fresh, [...ramp(-1, 0), ...Array.from({ length: 30 }, () => 0)])
    expect(feed(stopped, ramp(0.05, 0.4)).watch).toMatchObject({ phase: 'climb', flat: 'no' })
  })

  test('nothing for 10.3 s from the start on is no effect at all; a key-up in between is not counted', () => {
    const still = (count: number) => Array.from({ length: count }, () => -1)
    expect(feed(fresh, still(46)).watch.flat).toBe('nothing')
    const half = feed(fresh, still(24))
    expect(feed({ ...half, watch: resumePeak(half.watch) }, still(24), { gapS: 20 }).watch.flat).toBe('no')
  })

  test('a second top 0.8 dB lower is told with its height, and the best stays the best', () => {
    const over = feed(fresh, [...ramp(-1, -0.05), ...TOP, ...ramp(-0.05, -2)])
    const second = feed(over, [...ramp(-1.95, -0.85), -0.8, -0.8, -0.8, ...ramp(-0.85, -1.2)])
    expect(second.watch.otherTop).toBeCloseTo(10 ** -0.08, 3)
    expect(second.watch).toMatchObject({ phase: 'passed over', failedReturns: 0 })
    expect(second.watch.bestDb).toBeCloseTo(0, 9)
  })
})

describe('a display that steps by 0.1 W', () => {
  test('is at best one step of 0.08 dB below it, at 5.5 W', () => {
    const coarse = peakRule({ sigmaDb: 0.01, latencyS: 0.3, step: 0.1 })
    const watts = [4.9, 5, 5.1, 5.2, 5.3, 5.4, 5.5, 5.5, 5.5, 5.5, 5.4, 5.3, 5.2, 5.1, 5.1, 5.2, 5.3, 5.4, 5.4, 5.4]
    const watch = watts.reduce(
      (so, value, index) => watchPeak(so, { atS: index * 0.25, value, heating: false }, coarse),
      startPeak(),
    )
    expect(watch).toMatchObject({ phase: 'at best', bestValue: expect.closeTo(5.5, 6) })
  })
})

describe('a gap between key-downs', () => {
  const over = feed(fresh, [...ramp(-1, -0.05), ...TOP, ...ramp(-0.05, -0.3)], { heating: true })

  test('keeps the best, empties the filter, and wants a direction proved anew', () => {
    const watch = resumePeak(over.watch)
    expect(watch.bestDb).toBe(over.watch.bestDb)
    expect(watch).toMatchObject({ phase: 'return', proved: false })
    expect(watch.memory.recent).toHaveLength(0)
  })

  test('of 45 s gives back half of what heat took', () => {
    const long = feed(
      over,
      Array.from({ length: 40 }, () => -0.3),
      { heating: true },
    )
    const lost = -long.watch.bestDb
    const rested = feed({ ...long, watch: resumePeak(long.watch) }, [-0.3, -0.3, -0.3], { gapS: 45 })
    expect(-rested.watch.bestDb).toBeLessThan(0.75 * lost)
  })

  test('is noticed even if nobody says so', () => {
    const { watch } = feed(over, [-0.3], { gapS: 45 })
    expect(watch.memory.recent).toHaveLength(1)
    expect(watch.phase).toBe('return')
  })

  test('near the best at once after an interrupted return is not at best until the top is crossed in this key-down', () => {
    const resumed = { ...over, watch: resumePeak(over.watch) }
    const near = feed(resumed, [-0.02, -0.02, -0.01, -0.02], { gapS: 45 })
    expect(near.watch.phase).toBe('return')
    const home = feed(near, [...ramp(-0.05, -0.3), ...ramp(-0.25, -0.02), -0.02])
    expect(home.watch.phase).toBe('at best')
  })

  test('while at best is still at best', () => {
    const home = feed(over, ramp(-0.25, -0.02))
    expect(home.watch.phase).toBe('at best')
    expect(feed({ ...home, watch: resumePeak(home.watch) }, [-0.02, -0.02, -0.02], { gapS: 45 }).watch.phase).toBe(
      'at best',
    )
  })
})

describe('a dip', () => {
  const dip = peakRule({ sigmaDb: 0.02, latencyS: 0.3, dip: true, unit: 'ratio', floor: 0.003 })
  const go = (percents: readonly number[]) =>
    percents.reduce(
      (watch, percent, index) => watchPeak(watch, { atS: index * 0.25, value: percent / 100, heating: false }, dip),
      startPeak(),
    )

  test('of distortion from 5 to 2.5 %, over it and back, ends at 2.5 %', () => {
    const down = Array.from({ length: 26 }, (_, index) => 5 - index * 0.1)
    const up = [2.52, 2.54, 2.56, 2.58, 2.6, 2.62]
    const watch = go([...down, ...up, ...[...up].reverse(), 2.5, 2.5, 2.5])
    expect(watch.phase).toBe('at best')
    expect(watch.bestValue).toBeCloseTo(0.025, 3)
    expect(watch.fromStartDb).toBeCloseTo(20 * Math.log10(4.9 / 2.5), 2)
  })

  test('within 1.2 times the meter floor of 0.3 % is as low as can be shown', () => {
    expect(go([1, 0.8, 0.6, 0.5, 0.4, 0.36, 0.35, 0.35]).phase).toBe('at best')
    expect(go([1, 0.8, 0.6, 0.5, 0.4, 0.38, 0.38, 0.38]).phase).not.toBe('at best')
  })
})
