import { describe, expect, test } from 'vitest'
import type { Goal } from '../../../src/core/goal/goal.ts'
import { pegView, readingView, settleView, slotView } from '../../../src/core/guidance/gauge.ts'
import {
  addReading,
  ageOf,
  correctReading,
  doubtOf,
  errorOf,
  expandedOf,
  highestOf,
  isInsideAim,
  type Live,
  type LiveRule,
  liveRule,
  restartLive,
  sigmaDbOf,
  startLive,
} from '../../../src/core/reading/live.ts'
import type { MeterFacts, Reading } from '../../../src/schema/kept/reading.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

const { volts, power, modulation } = METER_FACTS

const bandOf = (
  low: number | null,
  high: number | null,
  aimLow: number,
  aimHigh: number,
  rule: Extract<Goal, { kind: 'band' }>['rule'] = null,
): Goal => ({ kind: 'band', band: { low, high, aim: null }, aimLow, aimHigh, rule })
const CONTROL = bandOf(2.2, 2.6, 2.35, 2.45)
const PEAK: Goal = { kind: 'peak', dip: false }
const USUAL = { usual: null }

function readingOf(facts: MeterFacts, index: number, value: number | null, parts?: readonly number[]): Reading {
  return {
    quantity: facts.quantity,
    instrument: facts.instrument,
    epoch: 1,
    beganMs: (index - 1) * facts.everyMs,
    arrivedMs: index * facts.everyMs,
    raw: String(value),
    value,
    state: value === null ? 'over' : 'good',
    ...(parts ? { parts } : {}),
  }
}

/** One reading after the other, all counting. */
function fed(rule: LiveRule, values: readonly (number | null)[], from: Live = startLive(rule), first = 1): Live {
  return values.reduce<Live>(
    (live, value, at) =>
      addReading(live, readingOf(rule.facts, first + at, value), rule, { counts: true, amps: null, heating: true }),
    from,
  )
}

const steady = (value: number, count: number, by = 0.001) =>
  Array.from({ length: count }, (_, at) => value + (at % 2 === 0 ? by : -by))

describe('the rule of one quantity', () => {
  test('a hand is brought to a target only where its window is closed, and where something is turned', () => {
    expect(liveRule(volts, CONTROL).set).toBeNull()
    expect(liveRule(volts, CONTROL, 0, USUAL).set).toMatchObject({ aimLow: 2.35, aimHigh: 2.45 })
    expect(liveRule(volts, bandOf(null, 2.6, Number.NEGATIVE_INFINITY, 2.5), 0, USUAL).set).toBeNull()
    expect(liveRule(volts, bandOf(2.2, null, 2.3, Number.POSITIVE_INFINITY), 0, USUAL).set).toBeNull()
    expect(liveRule(power, PEAK, 0, USUAL).set).toBeNull()
  })

  test('a move of the hand is four sigmas of the meter at the aim: share and floor together, as they are worth at the set', () => {
    const facts = { ...power, noise: { ofReading: 0.005, floor: 0.02e-3 } }
    const rule = liveRule(facts, bandOf(3.6, 4, 3.8, 3.9), 0, USUAL)
    // 0.5 % of 3.85 W, and 0.02 mW behind 30 dB
    expect(rule.set?.moveBy).toBeCloseTo(4 * Math.hypot(0.005 * 3.85, 0.02), 9)
    expect(rule.set).toMatchObject({ latencyS: 0.3, everyS: 0.25, quick: true })
    const fine = liveRule({ ...facts, noise: { ofReading: 0, floor: 0 } }, bandOf(3.6, 4, 3.8, 3.9), 0, USUAL)
    expect(fine.set?.moveBy).toBeCloseTo(2 * 0.01, 9)
  })

  test('settles by a quarter of the half width, and a peak by 0.05 dB', () => {
    expect(liveRule(volts, CONTROL).settle.delta).toBeCloseTo(0.05, 12)
    expect(liveRule(power, PEAK).settle.deltaOfReading).toBeCloseTo(10 ** 0.005 - 1, 12)
    expect(liveRule(power, PEAK).peak).toMatchObject({
      latencyS: 0.3,
      dip: false,
      unit: 'W',
      step: expect.closeTo(0.01, 9),
    })
    expect(liveRule(volts, CONTROL).peak).toBeNull()
  })

  test.each([
    ['of a power 10 lg', { unit: 'W', noise: { ofReading: 0.01, floor: 1 } }, 10 * Math.log10(1.01)],
    ['of an amplitude 20 lg', { unit: 'V', noise: { ofReading: 0.01, floor: 1 } }, 20 * Math.log10(1.01)],
    ['of a level that is in dB its floor', { unit: 'dB', noise: { ofReading: 0.01, floor: 0.3 } }, 0.3],
  ] as const)('the sigma of one reading in dB: %s', (_, changes, sigmaDb) => {
    expect(sigmaDbOf({ ...power, ...changes })).toBeCloseTo(sigmaDb, 12)
  })

  test('labels: the edges, the aim and a rule limit, "" where there is none; one prefix for all', () => {
    const goal: Goal = {
      ...{ kind: 'band', band: { low: 3.6, high: 4, aim: 3.85 }, aimLow: 3.8, aimHigh: 3.9 },
      rule: { low: null, high: 4 },
    }
    const { print } = liveRule(power, goal)
    expect(print.step).toBeCloseTo(0.01, 12)
    expect([print.low, print.high, print.aim, print.wall].map(Number.parseFloat)).toEqual([3.6, 4, 3.85, 4])
    const { print: lower } = liveRule(power, { ...goal, rule: { low: 1, high: null } })
    expect(Number.parseFloat(lower.wall)).toBe(1)
    expect(liveRule(power, PEAK).print).toMatchObject({ prefix: null, low: '', high: '', aim: '', wall: '' })
    const open = liveRule(volts, bandOf(null, 0.5, Number.NEGATIVE_INFINITY, 0.5)).print
    expect([open.low, open.aim, open.wall]).toEqual(['', '', ''])
    expect(open.high).not.toBe('')
    expect(liveRule(volts, bandOf(-1, 0, -1, 0)).print.prefix).toBeNull()
  })
})

describe('readings', () => {
  const rule = liveRule(volts, CONTROL)

  test('one that does not count, and one without a number, are shown and change nothing else', () => {
    const before = fed(rule, steady(2.4, 4))
    const reading = readingOf(volts, 9, 2.5)
    const aside = addReading(before, reading, rule, { counts: false, amps: null, heating: false })
    expect(aside).toEqual({ ...before, last: aside.last, state: 'good' })
    expect(aside.last).toMatchObject({ reading, counts: false })
    const over = fed(rule, [null], before, 9)
    expect(over.state).toBe('over')
    expect(over.current).toEqual(before.current)
    expect(over.kept).toHaveLength(4)
  })

  test('since when all have been inside the aim window: from the first of them, anew after one outside', () => {
    expect(fed(rule, [2.5, 2.4, 2.41]).insideSinceMs).toBe(2 * 200)
    expect(fed(rule, [2.4, 2.5]).insideSinceMs).toBeNull()
    expect(fed(rule, [2.4, 2.5, 2.4]).insideSinceMs).toBe(3 * 200)
  })

  test('the last 400 are kept, and of a peak the last five looks', () => {
    const many = fed(rule, steady(2.4, 405))
    expect(many.kept).toHaveLength(400)
    expect(many.kept.at(-1)?.arrivedMs).toBe(405 * 200)
    const peak = fed(liveRule(power, PEAK), steady(0.004, 9, 0))
    expect(peak.earlier.map(({ atMs }) => atMs / 250)).toEqual([5, 6, 7, 8, 9])
    expect(many.earlier).toEqual([])
  })

  test('the largest is that of value and parts, whatever came later', () => {
    const meter = liveRule(modulation, bandOf(1600, 1950, 1750, 1850))
    const around = { counts: true, amps: null, heating: false }
    const seen = [
      [1700, [1700, 1650]],
      [1800, [1790, 1820]],
      [1750, [1750, 1740]],
    ] as const
    const live = seen.reduce<Live>(
      (so, [value, parts], at) => addReading(so, readingOf(modulation, at + 1, value, parts), meter, around),
      startLive(meter),
    )
    expect(live.highest).toBe(1820)
    expect(highestOf(5, 4, [3, 2])).toBe(5)
    expect(highestOf(5, 6, [3])).toBe(6)
  })

  test('behind 100 kohm in series a 10 Mohm meter shows 1 % less; what overflows at the set is no number', () => {
    const behind = liveRule(volts, CONTROL, 100e3)
    const corrected = correctReading(readingOf(volts, 1, 2.4, [2.4, 2]), behind)
    expect(corrected.value).toBeCloseTo(2.4 * 1.01, 12)
    expect(corrected.parts[1]).toBeCloseTo(2 * 1.01, 12)
    expect(corrected.chain).toHaveLength(1)
    const far = liveRule(power, PEAK)
    expect(correctReading(readingOf(power, 1, 1e306), far)).toEqual({ value: null, parts: [], chain: [] })
    expect(correctReading(readingOf(power, 1, 1, [1, 1e306]), far)).toEqual({ value: null, parts: [], chain: [] })
    expect(correctReading(readingOf(power, 1, null), far)).toEqual({ value: null, parts: [], chain: [] })
  })

  test.each([
    [2.35, [], true],
    [2.45, [], true],
    [2.3499, [], false],
    [2.4501, [], false],
    [2.4, [2.4, 2.2], true],
    [2.4, [2.6, 2.4], true],
    [2.4, [2.4, 2.19], false],
    [2.4, [2.61, 2.4], false],
  ])('%d with parts %j inside the aim window 2.35 .. 2.45 of 2.2 .. 2.6: %s', (value, parts, inside) => {
    const live = { reading: readingOf(volts, 1, value), value, parts, chain: [], counts: true }
    expect(isInsideAim(live, CONTROL)).toBe(inside)
    expect(isInsideAim({ ...live, value: null }, CONTROL)).toBe(false)
    expect(isInsideAim(live, PEAK)).toBe(false)
  })

  test('e and doubt: of a single reading while it is not settled, of the mean afterwards, and none before', () => {
    expect(errorOf(startLive(rule), rule)).toBeNull()
    expect(doubtOf(startLive(rule), rule)).toBe(0)
    const one = fed(rule, [2.5])
    expect(errorOf(one, rule)).toBeCloseTo(0.5, 12)
    expect(doubtOf(one, rule)).toBe(expandedOf({ value: 2.5, count: 1, spread: 0, from: 'one reading' }, rule))
    const rest = fed(rule, steady(2.4, 25))
    expect(rest.settle.verdict).toBe('settled')
    const { value, count, spread } = rest.settle
    expect(doubtOf(rest, rule)).toBe(expandedOf({ value, count, spread, from: 'line' }, rule))
    const typed = liveRule({ ...volts, typed: true }, CONTROL)
    expect(doubtOf({ ...rest, current: one.current }, typed)).toBe(
      expandedOf({ value: 2.5, count: 1, spread: 0, from: 'one reading' }, typed),
    )
    expect(errorOf(fed(liveRule(power, PEAK), [0.004]), liveRule(power, PEAK))).toBeNull()
  })

  test('is old after three intervals or latencies, whichever is longer, and not before 2 s', () => {
    const old = (everyMs: number, latencyMs: number) =>
      ageOf(startLive(rule), { ...volts, everyMs, latencyMs }, 0).oldAfterMs
    expect([old(200, 200), old(1000, 200), old(200, 1000), old(667, 0)]).toEqual([2000, 3000, 3000, 2001])
    expect(ageOf(fed(rule, [2.4]), volts, 1000).ageMs).toBe(800)
    expect(ageOf(startLive(rule), volts, 1000).ageMs).toBe(Number.POSITIVE_INFINITY)
  })
})

describe('after a change', () => {
  test('nothing read before counts; the newest is still shown', () => {
    const rule = liveRule(volts, CONTROL, 0, USUAL)
    const before = fed(rule, steady(2.4, 25))
    const after = restartLive(before, 6000)
    expect(after).toMatchObject({ current: null, kept: [], highest: null, insideSinceMs: null, last: before.last })
    expect(after.settle.verdict).toBe('waiting')
    expect(after.peak).toBeNull()
    expect(after.set?.memory.recent).toEqual([])
  })

  test('a peak is what it was 0.6 s ago: what fell as the key came up is not held against it', () => {
    const rule = liveRule(power, PEAK)
    const climbed = fed(
      rule,
      Array.from({ length: 12 }, (_, at) => 0.003 * 10 ** (0.005 * at)),
    )
    const fallen = fed(rule, [0.0005, 0.0001], climbed, 13)
    const nowMs = 14 * 250
    const sharp = restartLive(fallen, nowMs).peak
    expect(sharp?.bestDb).toBe(climbed.earlier.find(({ atMs }) => atMs === 11 * 250)?.peak.bestDb)
    // with nothing that old left, the oldest there is
    expect(restartLive(climbed, 9 * 250).peak?.bestDb).toBe(climbed.earlier[0]?.peak.bestDb)
  })
})

describe('the gauge', () => {
  const rule = liveRule(volts, CONTROL)

  test('a reading as a number with its unit and age; a word where there is none; nothing before the first', () => {
    expect(readingView(startLive(rule), rule, 0)).toBeNull()
    expect(readingView(fed(rule, [2.4]), rule, 500)).toMatchObject({
      ...{ quantity: 'DC voltage', value: 2.4, word: '', digits: '2.400', unit: 'V' },
      ...{ arrivedMs: 200, ageMs: 300, oldAfterMs: 2000, instrument: 'volts' },
    })
    const over = readingView(fed(rule, [null]), rule, 500)
    expect(over).toMatchObject({ value: null, digits: '', unit: '' })
    expect(over?.word).not.toBe('')
  })

  test('the slot: aim window and wall in e, open sides, and the edges themselves', () => {
    expect(slotView(startLive(rule), rule)).toMatchObject({
      ...{ kind: 'band', aimLowE: expect.closeTo(-0.25, 9), aimHighE: expect.closeTo(0.25, 9) },
      ...{ wallE: null, openLow: false, openHigh: false, low: 2.2, high: 2.6 },
    })
    const open = liveRule(volts, bandOf(null, 0.5, Number.NEGATIVE_INFINITY, 0.5))
    expect(slotView(startLive(open), open)).toMatchObject({ openLow: true, openHigh: false, aimLowE: -1, aimHighE: 1 })
    const walled = bandOf(2.2, 2.6, 2.35, 2.45, { low: null, high: 2.7 })
    expect(slotView(startLive(rule), liveRule(volts, walled))).toMatchObject({ wallE: expect.closeTo(1.5, 9) })
    const below = bandOf(2.2, 2.6, 2.35, 2.45, { low: 2.1, high: null })
    expect(slotView(startLive(rule), liveRule(volts, below))).toMatchObject({ wallE: expect.closeTo(-1.5, 9) })
  })

  test('the slot of a peak: its windows, and the best once there is one', () => {
    const meter = liveRule(power, PEAK)
    expect(slotView(startLive(meter), meter)).toMatchObject({
      ...{ kind: 'peak', dip: false, bestLabel: '', windowDb: meter.peak?.backDb, passOverDb: meter.peak?.overDb },
    })
    const seen = slotView(fed(meter, steady(0.004, 9, 0)), meter)
    expect(seen.kind === 'peak' && Number.parseFloat(seen.bestLabel)).toBeCloseTo(4, 2)
  })

  test('the peg: where it is, as wide as its doubt, ragged until it has settled', () => {
    expect(pegView(startLive(rule), rule, 0)).toBeNull()
    const one = pegView(fed(rule, [2.5]), rule, 3)
    expect(one).toMatchObject({ e: expect.closeTo(0.5, 9), ragged: 1, drop: 3 })
    expect(one?.halfE).toBeCloseTo(doubtOf(fed(rule, [2.5]), rule) / 0.2, 9)
    expect(pegView(fed(rule, steady(2.4, 25)), rule, 0)?.ragged).toBe(0)
    const half = fed(rule, steady(2.4, 9))
    expect(pegView(half, rule, 0)?.ragged).toBeCloseTo(1 - half.settle.share, 12)
  })

  test('the peg of a peak: how far below the best, in return windows; two sigmas wide', () => {
    const meter = liveRule(power, PEAK)
    const windowDb = meter.peak?.backDb ?? 0
    const below = fed(meter, [...steady(0.004, 9, 0), ...steady(0.0039, 4, 0)])
    const peg = pegView(below, meter, 0)
    expect(peg?.e).toBeCloseTo(-(below.peak?.belowDb ?? 0) / windowDb, 12)
    expect(peg?.e).toBeLessThan(-0.5)
    expect(peg?.halfE).toBeCloseTo((2 * sigmaDbOf(power)) / windowDb, 12)
    expect(pegView({ ...below, current: null }, meter, 0)?.e).toBeCloseTo(0, 12)
  })

  test('how far it has settled, and nothing while no reading counts', () => {
    expect(settleView(startLive(rule))).toEqual({ share: 0, seconds: 0, word: '' })
    const rest = fed(rule, steady(2.4, 25))
    expect(settleView(rest)).toMatchObject({ share: 1, seconds: rest.settle.windowS })
  })
})
