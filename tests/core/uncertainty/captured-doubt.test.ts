import { describe, expect, test } from 'vitest'
import { type Figures, figuresOf } from '../../../src/core/reading/capture.ts'
import { evidenceOf, recompute } from '../../../src/core/reading/evidence.ts'
import { addReading, doubtOf, type Live, type LiveRule, liveRule, startLive } from '../../../src/core/reading/live.ts'
import { lineThrough } from '../../../src/core/statistics/least-squares.ts'
import { budgetOfCaptured, doubtOfChange } from '../../../src/core/uncertainty/captured-budget.ts'
import { combine } from '../../../src/core/uncertainty/uncertainty.ts'
import { Evidence } from '../../../src/schema/kept/evidence.ts'
import type { MeterFacts } from '../../../src/schema/kept/reading.ts'
import { normal, type Rng, seededRng } from '../../../src/system/rng.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

const AROUND = { counts: true, amps: null, heating: false }
const MOST_READINGS = 60
/** A short capture takes what a brief key-down gives. */
const SHORT = 4
const TRIALS = 400

interface Trial {
  readonly facts: MeterFacts
  readonly truth: number
  readonly half: number
  readonly label: 'settled' | 'short'
}

function ruleOf({ facts, truth, half }: Trial): LiveRule {
  const band = { low: truth - half, high: truth + half, aim: truth }
  return liveRule(facts, { kind: 'band', band, aimLow: truth - half / 2, aimHigh: truth + half / 2, rule: null })
}

/** A meter as its facts say, wrong by some share of its limits of error and rounding to its step, on a set that stands still. */
function liveUntil(trial: Trial, rule: LiveRule, rng: Rng): Live {
  const { facts, label } = trial
  const { quantity, instrument, everyMs, smoothing, step, accuracy, noise } = facts
  const atMeter = trial.truth / 10 ** (facts.pathLossDb / 10)
  const wrong = (2 * rng() - 1) * (accuracy.ofReading * atMeter + accuracy.floor)
  const sigma = Math.hypot(noise.ofReading * atMeter, noise.floor)
  let rough = normal(rng)
  let live = startLive(rule)
  for (let index = 1; index <= MOST_READINGS; index++) {
    const exact = atMeter + wrong + sigma * rough
    const value = step > 0 ? Math.round(exact / step) * step : exact
    const times = { beganMs: (index - 1) * everyMs, arrivedMs: index * everyMs }
    const reading = { quantity, instrument, epoch: 1, ...times, raw: String(value), value, state: 'good' } as const
    live = addReading(live, reading, rule, AROUND)
    if (label === 'short' ? index === SHORT : live.settle.verdict === 'settled') break
    rough = smoothing * rough + Math.sqrt(1 - smoothing * smoothing) * normal(rng)
  }
  return live
}

function captures(trial: Trial, seed: number): readonly Figures[] {
  const rng = seededRng(seed)
  const rule = ruleOf(trial)
  const all = Array.from({ length: TRIALS }, () =>
    figuresOf(liveUntil(trial, rule, rng), rule, { highest: false, decision: 'simple acceptance' }),
  )
  return all.filter((one): one is Figures => one?.label === trial.label)
}

const NO_LIMITS = { accuracy: { ofReading: 0, floor: 0 } }
const power = { facts: METER_FACTS.power, truth: 3.8, half: 0.2, label: 'settled' } as const
const deviation = { facts: METER_FACTS.modulation, truth: 1800, half: 175, label: 'settled' } as const
const frequency = { facts: METER_FACTS.counter, truth: 27.205e6, half: 150, label: 'settled' } as const
const volts = { facts: METER_FACTS.volts, truth: 2.4, half: 0.2, label: 'settled' } as const
const noiseOnly = <T extends Trial>(trial: T): Trial => ({ ...trial, facts: { ...trial.facts, ...NO_LIMITS } })

describe('the true value lies within the stated doubt of what is captured, as often as 95.45 % promise', () => {
  test.each([
    ['power by a 5 % meter', power],
    ['deviation by a 3 % meter', deviation],
    ['frequency by a 0.5 ppm counter with a 1 s gate', frequency],
    ['volts by a 0.3 % meter', volts],
    ['power, noise only', noiseOnly(power)],
    ['deviation, noise only', noiseOnly(deviation)],
    ['frequency, noise and counts only', noiseOnly(frequency)],
    ['volts, noise and steps only', noiseOnly(volts)],
    ['four readings of power, noise only', { ...noiseOnly(power), label: 'short' } as const],
    ['four readings of deviation, noise only', { ...noiseOnly(deviation), label: 'short' } as const],
    ['four readings of volts, noise and steps only', { ...noiseOnly(volts), label: 'short' } as const],
    [
      'deviation by a meter smoothed by 0.6, noise only',
      { ...deviation, facts: { ...deviation.facts, ...NO_LIMITS, smoothing: 0.6 } },
    ],
    [
      'deviation by a meter that is twice as rough as its driver says, noise only',
      { ...deviation, facts: { ...deviation.facts, ...NO_LIMITS, noise: { ofReading: 0, floor: 50 } } },
    ],
  ])('%s', (_, trial) => {
    const taken = captures(trial, 7)
    expect(taken.length).toBeGreaterThan(0.9 * TRIALS)
    const within = taken.filter(({ value, uncertainty }) => Math.abs(value - trial.truth) <= uncertainty)
    // 400 trials at 95.45 % scatter by 1 %
    expect(within.length / taken.length).toBeGreaterThan(0.93)
  })

  test('and the doubt is not stretched: of noise alone, half of it would not do', () => {
    const taken = captures({ ...noiseOnly(deviation), label: 'short' }, 8)
    const within = taken.filter(({ value, uncertainty }) => Math.abs(value - 1800) <= uncertainty / 2)
    expect(within.length / taken.length).toBeLessThan(0.9)
  })
})

describe('the width of the peg', () => {
  test('once settled it is the doubt of what is captured; before, that of a single reading', () => {
    const rule = ruleOf(deviation)
    const settled = liveUntil(deviation, rule, seededRng(3))
    expect(doubtOf(settled, rule)).toBe(
      figuresOf(settled, rule, { highest: false, decision: 'simple acceptance' })?.uncertainty,
    )
    const early = liveUntil({ ...deviation, label: 'short' }, rule, seededRng(3))
    expect(early.settle.verdict).not.toBe('settled')
    expect(doubtOf(early, rule)).toBeCloseTo(
      2 * Math.hypot((0.03 * (early.current?.value ?? 0)) / Math.sqrt(3), 0.5 / Math.sqrt(3), 25),
      9,
    )
    expect(doubtOf(startLive(rule), rule)).toBe(0)
  })
})

describe('from a record alone', () => {
  const trials: readonly Trial[] = [power, deviation, volts, { ...deviation, label: 'short' }]
  test.each(trials)('the parts combined are the uncertainty kept: $facts.quantity, $label', (trial) => {
    const [one] = captures(trial, 5)
    if (!one) throw new TypeError('nothing captured')
    const budget = budgetOfCaptured({ ...one, evidence: { facts: trial.facts, seriesOhms: 0 } })
    expect(combine(budget).expanded).toBe(one.uncertainty)
  })

  test('a peak too', () => {
    const rule = liveRule(METER_FACTS.power, { kind: 'peak', dip: false })
    const live = liveUntil({ ...power, label: 'short' }, rule, seededRng(6))
    const one = figuresOf(live, rule, { highest: false, decision: 'simple acceptance' })
    if (!one) throw new TypeError('nothing captured')
    expect(one.label).toBe('peaked')
    const budget = budgetOfCaptured({ ...one, evidence: { facts: METER_FACTS.power, seriesOhms: 0 } })
    expect(combine(budget).expanded).toBe(one.uncertainty)
  })

  test('power from 2.56 W to 3.80 W by one 5 % meter: the change is surer than either level, and less by another meter', () => {
    const at = (truth: number, facts: MeterFacts) => {
      const [one] = captures({ ...power, truth, facts }, 9)
      if (!one) throw new TypeError('nothing captured')
      return { ...one, evidence: { facts, seriesOhms: 0 } }
    }
    const left = at(3.8, METER_FACTS.power)
    const same = doubtOfChange(at(2.56, METER_FACTS.power), left).expanded
    const other = doubtOfChange(at(2.56, { ...METER_FACTS.power, instrument: 'older' }), left).expanded
    // 5 % of the 1.24 W between them, and the noise of both
    expect(same).toBeGreaterThan((2 * 0.05 * 1.24) / Math.sqrt(3) / 1.1)
    expect(same).toBeLessThan(left.uncertainty / 2)
    expect(other).toBeGreaterThan(left.uncertainty)
  })
})

describe('worked out again from the evidence, after a way through JSON', () => {
  const conditions = {
    wantedVolts: null,
    plugVolts: null,
    amps: null,
    channelWanted: null,
    channelSeen: null,
    mode: 'FM',
    tone: '',
    state: 'transmit',
    keyDownS: 4,
  } as const
  const evidenceFor = (facts: MeterFacts) => {
    const trial = { ...power, facts }
    const rule = ruleOf(trial)
    const live = liveUntil(trial, rule, seededRng(11))
    const how = { highest: false, decision: 'simple acceptance', technique: 'check', conditions } as const
    return { kept: JSON.stringify(evidenceOf(live, rule, how)), figures: figuresOf(live, rule, how) }
  }
  const stated = { ...METER_FACTS.power, pathLossUncertaintyDb: 0.1, vswr: { set: 1.5, meter: 1.2 } }

  test('the same doubt, with path loss and mismatch in it where the bench states them', () => {
    const plain = evidenceFor(METER_FACTS.power)
    const more = evidenceFor(stated)
    expect(recompute(Evidence.parse(JSON.parse(plain.kept)))).toEqual(plain.figures)
    expect(recompute(Evidence.parse(JSON.parse(more.kept)))).toEqual(more.figures)
    expect((more.figures?.uncertainty ?? 0) / (plain.figures?.uncertainty ?? 1)).toBeCloseTo(
      Math.hypot(5 / Math.sqrt(3), 2.571, 2.329 / Math.sqrt(3)) / (5 / Math.sqrt(3)),
      2,
    )
  })

  test('where the bench states neither, the record has neither: its form is that of before', () => {
    expect(evidenceFor(METER_FACTS.power).kept).not.toMatch(/vswr|pathLossUncertainty/)
  })

  test('a stated path that is taken out of the evidence changes the doubt', () => {
    const { kept, figures } = evidenceFor(stated)
    const { pathLossUncertaintyDb, ...facts } = Evidence.parse(JSON.parse(kept)).facts
    expect(pathLossUncertaintyDb).toBe(0.1)
    const again = recompute({ ...Evidence.parse(JSON.parse(kept)), facts })
    expect(again?.uncertainty).toBeLessThan((figures?.uncertainty ?? 0) * 0.99)
  })
})

test('a drifting value is the end of its line: its doubt is what least squares leave there, twice that of a mean in the limit', () => {
  const rng = seededRng(12)
  const count = 40
  const ends: number[] = []
  for (let trial = 0; trial < 4000; trial++) {
    const points = Array.from({ length: count }, (_, x) => ({ x, y: 3 + 0.1 * x + normal(rng) }))
    const { slope, intercept } = lineThrough(points)
    ends.push(intercept + slope * (count - 1) - (3 + 0.1 * (count - 1)))
  }
  const rms = Math.sqrt(ends.reduce((sum, one) => sum + one * one, 0) / ends.length)
  const facts = { ...METER_FACTS.volts, ...NO_LIMITS, step: 0, smoothing: 0 }
  const noise = (label: 'drifting' | 'short') =>
    budgetOfCaptured({ value: 3, label, count, spread: 1, evidence: { facts, seriesOhms: 0 } }).find(
      ({ name }) => name === 'noise of the mean',
    )?.size ?? 0
  expect(noise('short')).toBeCloseTo(1 / Math.sqrt(count), 6)
  expect(noise('drifting') / rms).toBeGreaterThan(0.95)
  expect(noise('drifting') / rms).toBeLessThan(1.05)
})
