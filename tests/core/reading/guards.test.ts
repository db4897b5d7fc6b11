import { describe, expect, test } from 'vitest'
import type { Goal } from '../../../src/core/goal/goal.ts'
import { restLeftS, runKeyClock, startKeyClock } from '../../../src/core/job/state/key-down.ts'
import { peakRule, resumePeak, watchPeak } from '../../../src/core/peaking/peak.ts'
import { type PeakRule, type PeakWatch, startPeak } from '../../../src/core/peaking/peak-watch.ts'
import { figuresOf, type HowCaptured } from '../../../src/core/reading/capture.ts'
import { addReading, type Live, liveRule, startLive } from '../../../src/core/reading/live.ts'
import { settleRule } from '../../../src/core/settling/settle-rule.ts'
import { addToSettling, type SettleState, startSettling } from '../../../src/core/settling/settling.ts'
import { coverageFactor, studentWithin } from '../../../src/core/statistics/student.ts'
import { conformance } from '../../../src/core/uncertainty/conformance.ts'
import { correct, gainOf } from '../../../src/core/uncertainty/correction.ts'
import { meterDoubt } from '../../../src/core/uncertainty/meter-budget.ts'
import { type Budget, budgetOfChange, combine, type Part } from '../../../src/core/uncertainty/uncertainty.ts'
import type { MeterFacts } from '../../../src/schema/kept/reading.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

const AROUND = { counts: true, amps: null, heating: false }

/** Deviation as a meter with both peaks gives it: the larger is the value, the smaller the second part. */
function bothPeaks(larger: number, smaller: number, goal: Goal, how: Partial<HowCaptured> = {}) {
  const facts = METER_FACTS.modulation
  const rule = liveRule(facts, goal)
  let live: Live = startLive(rule)
  for (let index = 1; index <= 4; index++) {
    const reading = {
      quantity: facts.quantity,
      instrument: facts.instrument,
      epoch: 1,
      raw: '',
      state: 'good',
    } as const
    const times = { beganMs: (index - 1) * 250, arrivedMs: index * 250 }
    live = addReading(live, { ...reading, ...times, value: larger, parts: [larger, smaller] }, rule, AROUND)
  }
  return figuresOf(live, rule, { highest: false, decision: 'simple acceptance', ...how })
}

describe('the verdict looks at both peaks', () => {
  const band = (low: number | null, high: number | null): Goal => ({
    kind: 'band',
    band: { low, high, aim: null },
    aimLow: low ?? 0,
    aimHigh: high ?? 9000,
    rule: null,
  })

  test('1.80 and 1.50 kHz against 1.60 .. 1.95 kHz: low, though the value printed is 1.80 kHz', () => {
    const found = bothPeaks(1800, 1500, band(1600, 1950))
    expect(found).toMatchObject({ value: 1800, verdict: 'low', accepted: false, answer: 'out and clear' })
    expect(bothPeaks(1800, 1700, band(1600, 1950))).toMatchObject({ verdict: 'inside', accepted: true })
  })

  test('where the largest is what is wanted, the smaller peak is left aside', () => {
    expect(bothPeaks(1800, 1500, band(1600, 1950), { highest: true })).toMatchObject({
      ...{ value: 1800, verdict: 'inside', accepted: true },
    })
  })

  test('a value that is out by itself says which way, whatever its parts', () => {
    expect(bothPeaks(2000, 1500, band(1600, 1950))?.verdict).toBe('high')
    expect(bothPeaks(1500, 1400, band(1600, 1950))?.verdict).toBe('low')
  })
})

/** Readings one interval apart after `from`, the first `gapS` after its newest. */
function settle(
  from: SettleState,
  rule: ReturnType<typeof settleRule>,
  values: readonly number[],
  gapS = rule.everyS,
): SettleState {
  let state = from
  let atS = state.samples.at(-1)?.atS ?? 0
  for (const [index, value] of values.entries()) {
    atS += index === 0 ? gapS : rule.everyS
    state = addToSettling(state, { atS, value }, rule)
  }
  return state
}

describe('a settled value is left', () => {
  const rule = settleRule({ halfWidth: 0.2, facts: METER_FACTS.volts })
  const rest = settle(
    startSettling(),
    rule,
    Array.from({ length: 20 }, (_, index) => 2.4 + (index % 2 === 0 ? 0.001 : -0.001)),
  )

  /** Creeps away from 2.4 V, to and fro by `roughV`; where it is when "settled" is given up, V from there. */
  const leftAfter = (voltsPerS: number, roughV: number): number => {
    let state = rest
    for (let index = 1; index <= 200; index++) {
      const away = voltsPerS * rule.everyS * index
      state = settle(state, rule, [2.4 + away + (index % 2 === 0 ? -roughV : roughV)])
      if (state.verdict !== 'settled') return away
    }
    return Number.POSITIVE_INFINITY
  }

  test('once the newest readings are off it by delta (50 mV), however slowly they went and however rough they are', () => {
    expect(rest.verdict).toBe('settled')
    for (const [voltsPerS, roughV] of [
      [0.01, 0.005],
      [0.011, 0.0075],
      [0.012, 0.01],
      [-0.011, 0.0075],
    ] as const) {
      expect(Math.abs(leftAfter(voltsPerS, roughV))).toBeGreaterThan(0.045)
      expect(Math.abs(leftAfter(voltsPerS, roughV))).toBeLessThan(0.065)
    }
  })

  test('sooner where its line clearly runs away: 15 mV/s within half a delta', () => {
    expect(leftAfter(0.015, 0.003)).toBeLessThan(0.025)
  })
})

describe('a gap in the readings breaks the thread', () => {
  const thread = (facts: MeterFacts, gapS: number) => {
    const rule = settleRule({ halfWidth: 0.2, facts })
    const before = settle(startSettling(), rule, [2.4, 2.4, 2.4, 2.4])
    return settle(before, rule, [2.4], gapS).samples.length
  }
  test.each([
    ['five a second: 1.5 s', METER_FACTS.volts, 1.49, 1.51],
    ['one each 1.05 s: three of them', METER_FACTS.counter, 3.14, 3.16],
  ])('%s', (_, facts, within, beyond) => {
    expect(thread(facts, within)).toBe(5)
    expect(thread(facts, beyond)).toBe(1)
  })

  test('a peak: after more than 3 s its direction must be proved anew; the best stays', () => {
    const climbed = (gapS: number) => {
      const rule = peakRule({ sigmaDb: 0.01, latencyS: 0.3 })
      const levelsDb = Array.from({ length: 20 }, (_, index) => 0.05 * index)
      const up = peakAfter(startPeak(), rule, levelsDb, { fromS: 0 })
      expect(up.proved).toBe(true)
      return peakAfter(up, rule, [0.95], { fromS: (up.memory.lastAtS ?? 0) + gapS })
    }
    expect(climbed(2.99)).toMatchObject({ proved: true })
    expect(climbed(3.01)).toMatchObject({ proved: false, phase: 'climb' })
    expect(climbed(3.01).bestDb).toBeCloseTo(0.9, 6)
  })
})

function peakAfter(
  from: PeakWatch,
  rule: PeakRule,
  levelsDb: readonly number[],
  how: { readonly fromS: number; readonly everyS?: number; readonly heating?: boolean },
): PeakWatch {
  let watch = from
  for (const [index, db] of levelsDb.entries()) {
    const atS = how.fromS + index * (how.everyS ?? 0.25)
    watch = watchPeak(watch, { atS, value: 10 ** (db / 10), heating: how.heating ?? false }, rule)
  }
  return watch
}

describe('what heat may take from a remembered best', () => {
  const rule = peakRule({ sigmaDb: 0.01, latencyS: 0.3 })
  const heated = (seconds: number) =>
    peakAfter(startPeak(), rule, new Array(4 * seconds + 1).fill(0), { fromS: 0, heating: true })

  test('0.003 dB/s while keyed, and 0.2 dB at most: a set keyed for ten minutes is warmed through', () => {
    expect(heated(20).memory.heatDb).toBeCloseTo(0.06, 2)
    expect(heated(66).memory.heatDb).toBeLessThan(0.2)
    expect(heated(67).memory.heatDb).toBe(0.2)
    expect(heated(600).memory.heatDb).toBe(0.2)
  })

  test('a best of ten minutes ago is forgotten by 0.2 dB and no more: 0.19 dB below it is the best now, 0.25 dB is not', () => {
    const best = peakAfter(startPeak(), rule, [0, 0, 0, 0], { fromS: 0 })
    const low = peakAfter(best, rule, new Array(2400).fill(-0.25), { fromS: 1, heating: true })
    expect(low.belowDb).toBeCloseTo(0.05, 2)
    expect(peakAfter(best, rule, new Array(2400).fill(-0.19), { fromS: 1, heating: true }).belowDb).toBe(0)
  })

  test('rest gives it back: to 1/e after a minute', () => {
    const rested = peakAfter(resumePeak(heated(600)), rule, [0], { fromS: 660, heating: true })
    expect(rested.memory.heatDb).toBeCloseTo(0.2 / Math.E, 4)
    expect(rested.bestDb - heated(600).bestDb).toBeCloseTo(0.2 * (1 - 1 / Math.E), 4)
  })
})

describe('the key-down clock', () => {
  const budget = { atMostS: 15, restS: 45 }
  const used = (steps: readonly (readonly [seconds: number, keyed: boolean])[]) => {
    let clock = startKeyClock(0)
    let atMs = 0
    for (const [seconds, keyed] of steps) {
      clock = runKeyClock(clock, atMs, keyed, budget)
      atMs += seconds * 1000
      clock = runKeyClock(clock, atMs, keyed, budget)
    }
    return clock
  }

  test('from 70 % of a key-down on, a release calls for the whole rest; below it for none', () => {
    expect(
      restLeftS(
        used([
          [10.6, true],
          [0, false],
        ]),
        budget,
      ),
    ).toBeCloseTo((10.6 / 15) * 45, 6)
    expect(
      restLeftS(
        used([
          [10.4, true],
          [0, false],
        ]),
        budget,
      ),
    ).toBe(0)
  })

  test('keyed beyond the limit, the rest grows with it: 30 s keyed call for 90 s', () => {
    expect(
      restLeftS(
        used([
          [30, true],
          [0, false],
        ]),
        budget,
      ),
    ).toBeCloseTo(90, 6)
  })
})

describe('a voltmeter on an audio test point loads it as on a voltage', () => {
  const facts = { ...METER_FACTS.volts, quantity: 'audio level', inputOhms: 1e6 } as const
  const conditions = { seriesOhms: 100e3 }

  test('0.5 V shown by 1 Mohm behind 100 kohm are 0.55 V, and its step and noise are worth as much more', () => {
    expect(correct(0.5, facts, conditions)).toEqual({
      value: expect.closeTo(0.55, 12),
      chain: ['1 Mohm meter behind 100 kohm: x 1.1000'],
    })
    expect(gainOf(facts, conditions)).toBeCloseTo(1.1, 12)
    expect(meterDoubt(facts, conditions).rows.map(({ name }) => name)).toContain('loading')
  })

  test.each(['audio tone', 'audio distortion', 'SINAD', 'RF power', 'DC current'] as const)(
    '%s is not a voltage at that point: left as it is',
    (quantity) => {
      expect(gainOf({ ...facts, quantity }, conditions)).toBe(1)
    },
  )
})

describe('parts of one cause', () => {
  const part = (size: number, freedom: number, shared: string | null): Part => ({
    ...{ name: 'scale', shape: 'normal', size, freedom, shared },
  })
  const freedomOf = (budget: Budget) => combine(budget).freedom

  test('are no surer than the least sure of them: 9 and 4 degrees of freedom together have 4', () => {
    expect(freedomOf([part(1, 9, 'meter'), part(2, 4, 'meter')])).toBe(4)
    expect(freedomOf([part(2, 4, 'meter'), part(1, 9, 'meter')])).toBe(4)
    expect(combine([part(1, 9, 'meter'), part(2, 4, 'meter')])).toMatchObject({ standard: 3 })
    expect(combine([part(1, 9, 'meter'), part(2, 4, 'meter')]).k).toBeCloseTo(coverageFactor(4), 12)
  })

  test('of a change: what is left of the scale has 4, so it is not taken for endless', () => {
    const change = combine(budgetOfChange([part(1, 4, 'meter')], [part(3, 4, 'meter')]))
    expect(change).toMatchObject({ standard: 2, freedom: 4 })
  })

  test('and another cause is weighed in by Welch and Satterthwaite: 3 with 4 and 4 with 10 give 5 with 23', () => {
    const change = combine([part(1, 9, 'meter'), part(4, 10, 'path'), part(2, 4, 'meter')])
    expect(change.standard).toBeCloseTo(5, 12)
    expect(change.freedom).toBe(Math.floor(5 ** 4 / (3 ** 4 / 4 + 4 ** 4 / 10)))
  })

  test('so the share inside a band is that of Student: 4 degrees of freedom leave more outside than endless ones', () => {
    const few = combine([part(1, 9, 'meter'), part(2, 4, 'meter')])
    const inside = conformance(0, few, { low: -6, high: 6, aim: null })
    expect(inside).toBeCloseTo(studentWithin(2, 4), 12)
    expect(inside).toBeLessThan(0.89)
  })
})
