import { describe, expect, test } from 'vitest'
import { acceptance } from '../../../src/core/goal/acceptance.ts'
import {
  expectedGoal,
  type Goal,
  goalOf,
  goalOfQuantity,
  goalOfStep,
  quantitiesOf,
} from '../../../src/core/goal/goal.ts'
import { isKeyed } from '../../../src/core/goal/step.ts'
import { JobBench, METERS, WHOLE_SHEET } from '../../kit/job/job-bench.ts'

const band = (low: number | null, high: number | null, aim: number | null = null) =>
  ({ kind: 'band', unit: 'V', low, high, aim }) as const
const NONE = { aim: null, rule: null } as const
const CHANNEL_20 = 27_205_000

/** Edges and aim window, to 12 digits. */
function edges(goal: Goal | null): readonly (number | null)[] {
  if (goal?.kind !== 'band') throw new TypeError('no band')
  const { low, high, aim } = goal.band
  return [low, goal.aimLow, aim, goal.aimHigh, high].map((one) =>
    one === null || !Number.isFinite(one) ? one : Number(one.toPrecision(12)),
  )
}

describe('what a target becomes', () => {
  test('without an aim window the middle third of the band is aimed at, about its aim where it has one', () => {
    expect(edges(goalOf(band(3, 3.6), null, NONE))).toEqual([3, 3.2, null, 3.4, 3.6])
    expect(edges(goalOf(band(3, 3.6, 3.3), null, NONE))).toEqual([3, 3.2, 3.3, 3.4, 3.6])
    expect(edges(goalOf(band(3, 3.6, 3.15), null, NONE))).toEqual([3, 3.1, 3.15, 3.3, 3.6])
  })

  test('a band that is open on one side has its whole good side', () => {
    const infinity = Number.POSITIVE_INFINITY
    expect(edges(goalOf(band(1.1, null), null, NONE))).toEqual([1.1, 1.1, null, infinity, null])
    expect(edges(goalOf(band(null, 80), null, NONE))).toEqual([null, -infinity, null, 80, 80])
  })

  test('an aim window is what it says, to twelve digits: 3.85 less 0.05 is 3.80', () => {
    const goal = goalOf(band(3.6, 4), null, { aim: { centre: 3.85, plusMinus: 0.05 }, rule: null })
    expect(goal).toMatchObject({ aimLow: 3.8, aimHigh: 3.9, band: { low: 3.6, high: 4, aim: 3.85 } })
    expect(edges(goalOf(band(null, 4), null, { aim: { centre: 3.85, plusMinus: 0.05 }, rule: null }))).toEqual([
      ...[null, 3.8, 3.85, 3.9, 4],
    ])
  })

  test('about the channel: in hertz, or as a share of its frequency', () => {
    const hertz = { kind: 'around channel', plusMinus: 150, as: 'Hz' } as const
    const share = { kind: 'around channel', plusMinus: 10e-6, as: 'ratio' } as const
    expect(edges(goalOf(hertz, CHANNEL_20, NONE))).toEqual([
      ...[CHANNEL_20 - 150, CHANNEL_20 - 50, CHANNEL_20, CHANNEL_20 + 50, CHANNEL_20 + 150],
    ])
    expect(edges(goalOf(share, CHANNEL_20, NONE))[4]).toBeCloseTo(CHANNEL_20 + 272.05, 6)
    const aimed = { aim: { centre: 'channel', plusMinus: 30 }, rule: null } as const
    expect(edges(goalOf(hertz, CHANNEL_20, aimed)).slice(1, 4)).toEqual([
      ...[CHANNEL_20 - 30, CHANNEL_20, CHANNEL_20 + 30],
    ])
    expect(goalOf(hertz, null, NONE)).toBeNull()
    expect(goalOf({ ...share, plusMinus: 1e305 }, CHANNEL_20, NONE)).toBeNull()
  })

  test('a window about a channel that is not known is the middle third', () => {
    const aimed = { aim: { centre: 'channel', plusMinus: 0.01 }, rule: null } as const
    expect(edges(goalOf(band(3, 3.6), null, aimed))).toEqual([3, 3.2, null, 3.4, 3.6])
    expect(edges(goalOf(band(3, 3.6), 3.3, aimed))).toEqual([3, 3.29, 3.3, 3.31, 3.6])
  })

  test('a maximum, a minimum, and what is expected of a peak', () => {
    expect(goalOf({ kind: 'maximum' }, null, NONE)).toEqual({ kind: 'peak', dip: false })
    expect(goalOf({ kind: 'minimum' }, null, NONE)).toEqual({ kind: 'peak', dip: true })
    expect(edges(expectedGoal({ low: 5, high: 6 }))).toEqual([5, 5, 5.5, 6, 6])
  })

  test('a rule limit is kept beside it and moves nothing', () => {
    const rule = { low: null, high: 4 }
    expect(goalOf(band(3, 3.6), null, { aim: null, rule })).toEqual({ ...goalOf(band(3, 3.6), null, NONE), rule })
    const hertz = { kind: 'around channel', plusMinus: 150, as: 'Hz' } as const
    expect(goalOf(hertz, CHANNEL_20, { aim: null, rule })).toMatchObject({ rule })
  })
})

describe('the goals of a step', () => {
  const { plan } = new JobBench(METERS, { procedure: WHOLE_SHEET }).job
  const step = (id: string) => {
    const line = plan.lines.find((one) => one.id === id)
    if (!line) throw new TypeError(`no step ${id}`)
    return line.step
  }

  test('the main one first, with aim window and rule limit; one read beside it has its bare target', () => {
    expect(quantitiesOf(step('power'))).toEqual(['RF power', 'DC current'])
    expect(goalOfQuantity(step('power'), 'RF power', null)).toMatchObject({ aimLow: 3.8, rule: { low: null, high: 4 } })
    expect(goalOfQuantity(step('power'), 'RF power', null)).toEqual(goalOfStep(step('power'), null))
    expect(edges(goalOfQuantity(step('power'), 'DC current', null)).slice(0, 2)).toEqual([1.05, 1.18333333333])
    expect(goalOfQuantity(step('power'), 'DC current', null)).toMatchObject({ rule: null })
    expect(goalOfQuantity(step('power'), 'frequency', null)).toBeNull()
  })

  test('one that is only done measures nothing, and is not keyed', () => {
    expect(quantitiesOf(step('band'))).toEqual([])
    expect(goalOfStep(step('band'), null)).toBeNull()
    expect(isKeyed(step('band'))).toBe(false)
    expect(isKeyed(step('control-voltage'))).toBe(false)
    expect(isKeyed(step('plug-volts'))).toBe(true)
    expect(isKeyed(step('power'))).toBe(true)
  })
})

describe('band and rule limit are judged apart', () => {
  const goal = (rule: { low: number | null; high: number | null } | null): Goal => ({
    ...{ kind: 'band', band: { low: 3, high: 4, aim: null }, aimLow: 3.3, aimHigh: 3.7, rule },
  })
  const judged = (value: number) => ({ value, uncertainty: 0.1 })
  const by = (value: number, rule: Parameters<typeof goal>[0]) =>
    acceptance(judged(value), goal(rule), 'simple acceptance')

  test('a value is accepted where both allow it', () => {
    expect(by(3.5, null)).toEqual({ answer: 'in and clear', limit: null, accepted: true })
    expect(by(3.5, { low: null, high: 4 })).toEqual({ answer: 'in and clear', limit: 'in and clear', accepted: true })
    expect(by(3.5, { low: null, high: 3.4 })).toMatchObject({ answer: 'in and clear', accepted: false })
    expect(by(4.5, { low: null, high: 5 })).toMatchObject({
      answer: 'out and clear',
      limit: 'in and clear',
      accepted: false,
    })
  })

  test('a bare peak has neither', () => {
    const peak = acceptance(judged(9), { kind: 'peak', dip: false }, 'simple acceptance')
    expect(peak).toEqual({ answer: null, limit: null, accepted: true })
  })
})
