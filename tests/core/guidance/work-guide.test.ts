import { describe, expect, test } from 'vitest'
import type { Goal } from '../../../src/core/goal/goal.ts'
import { peakGuide } from '../../../src/core/guidance/peak-words.ts'
import { workGuide } from '../../../src/core/guidance/work-guide.ts'
import { type SetPhase, startSet } from '../../../src/core/homing/set-to.ts'
import { type PeakPhase, type PeakWatch, startPeak } from '../../../src/core/peaking/peak-watch.ts'
import { addReading, type Live, type LiveRule, liveRule, startLive } from '../../../src/core/reading/live.ts'
import type { SettleState } from '../../../src/core/settling/settling.ts'
import type { MeterFacts } from '../../../src/schema/kept/reading.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

const GOAL: Goal = {
  ...{ kind: 'band', band: { low: 2.2, high: 2.6, aim: null }, aimLow: 2.35, aimHigh: 2.45, rule: null },
}
const HAND = { nowMs: 1000, turned: true, adjuster: 'VK', atBestSinceMs: null, approach: null } as const
const CHECK = { ...HAND, turned: false, adjuster: '' } as const

const ruleOf = (facts: MeterFacts, goal: Goal) => liveRule(facts, goal, 0, { usual: null })
const rule = ruleOf(METER_FACTS.volts, GOAL)

/** One reading of this value, and the rest as it is said. */
function live(value: number | null, changes: Partial<Live> = {}, by: LiveRule = rule, parts?: readonly number[]): Live {
  const { facts } = by
  const reading = {
    ...{ quantity: facts.quantity, instrument: facts.instrument, epoch: 1, beganMs: 800, arrivedMs: 1000 },
    ...{ raw: String(value), value, state: value === null ? ('over' as const) : ('good' as const) },
    ...(parts ? { parts } : {}),
  }
  const around = { counts: true, amps: null, heating: false }
  return { ...addReading(startLive(by), reading, by, around), ...changes }
}

const settled = (by: Live, verdict: SettleState['verdict'], share: number): Live => ({
  ...by,
  settle: { ...by.settle, verdict, share },
})

const said = (...args: Parameters<typeof workGuide>) => {
  const { state, way, hands, drop } = workGuide(...args)
  return { state, way, hands, drop }
}

describe('what no hand can work by', () => {
  test('a reply that is no number, and readings that do not count yet', () => {
    expect(said(live(null), rule, HAND)).toMatchObject({ state: 'over range', hands: 'off' })
    expect(said({ ...live(2.4), current: null }, rule, HAND)).toMatchObject({ state: 'hold-off', hands: '' })
    expect(said({ ...live(2.4), current: null }, rule, CHECK)).toMatchObject({ state: 'hold-off', hands: 'off' })
  })
})

describe('a set-to', () => {
  test.each([
    [2.5, 'in', 'down'],
    [2.6, 'in', 'down'],
    [2.3, 'in', 'up'],
    [2.2, 'in', 'up'],
    [2.61, 'near', 'down'],
    [2.89, 'near', 'down'],
    [2.91, 'far', 'down'],
    [1.91, 'near', 'up'],
    [1.89, 'far', 'up'],
  ] as const)('%d V where 2.35 .. 2.45 of 2.2 .. 2.6 V is wanted: %s, %s', (value, state, way) => {
    expect(said(live(value), rule, HAND)).toEqual({ state, way, hands: 'on', drop: 0 })
  })

  test('inside the aim window hands come off; it drops as it settles, and the rest of the way as it stays there', () => {
    const there = live(2.4)
    expect(said(settled(there, 'settling', 0.5), rule, HAND)).toEqual({
      ...{ state: 'in', way: 'hold', hands: 'off', drop: expect.closeTo(0.35, 9) },
    })
    const at = (insideSinceMs: number | null) => said(settled({ ...there, insideSinceMs }, 'settled', 1), rule, HAND)
    expect(at(null)).toEqual({ state: 'steady', way: 'hold', hands: 'off', drop: expect.closeTo(0.7, 9) })
    expect(at(250).drop).toBeCloseTo(0.85, 9)
    expect(at(-500).drop).toBeCloseTo(1, 9)
    expect(at(-9000).drop).toBeCloseTo(1, 9)
  })

  test('of two peaks the larger is right and the smaller one outside: no turning helps', () => {
    const facts = METER_FACTS.modulation
    const peaks = ruleOf(facts, { ...GOAL, band: { low: 1600, high: 1950, aim: null }, aimLow: 1750, aimHigh: 1850 })
    expect(said(live(1800, {}, peaks, [1800, 1700]), peaks, HAND).state).toBe('in')
    expect(said(live(1800, {}, peaks, [1800, 1500]), peaks, HAND)).toMatchObject({ state: 'in', way: '', hands: 'off' })
  })

  test.each<[SetPhase, number, object]>([
    ['no effect', 2, { state: 'no effect', way: 'up', hands: 'on' }],
    ['no effect', 2.5, { state: 'in', way: 'down', hands: 'on' }],
    ['cannot reach', 2, { state: 'cannot reach', way: '', hands: 'off' }],
    ['end', 2.1, { state: 'near', way: 'up', hands: 'on' }],
    ['passed end', 2.7, { state: 'near', way: 'down', hands: 'on' }],
    ['coming', 2.1, { state: 'near', way: 'hold', hands: 'on' }],
    ['other way', 2.1, { state: 'near', way: 'up', hands: 'on' }],
    ['step', 2.1, { state: 'near', way: 'up', hands: 'on' }],
    ['look', 2.1, { state: 'near', way: 'up', hands: 'on' }],
    ['on', 2.1, { state: 'near', way: 'up', hands: 'on' }],
  ])('while the search says "%s" at %d V: %j', (phase, value, expected) => {
    const set = { ...startSet(), phase }
    expect(said(live(value, { set }), rule, HAND)).toMatchObject(expected)
  })

  test('without an adjuster nobody says that anything is turned: no alarm', () => {
    const set = { ...startSet(), phase: 'no effect' as const }
    expect(said(live(2, { set }), rule, { ...HAND, adjuster: '' })).toMatchObject({ state: 'near', way: 'up' })
  })

  test('each phase reads differently from the others, and the way round is told where it is known', () => {
    const words = (phase: SetPhase) =>
      JSON.stringify(workGuide(live(2.1, { set: { ...startSet(), phase } }), rule, HAND).words)
    const phases: readonly SetPhase[] = [
      'on',
      'no effect',
      'cannot reach',
      'end',
      'passed end',
      'coming',
      'other way',
      'step',
      'look',
    ]
    expect(new Set(phases.map(words)).size).toBe(phases.length)
    const known = liveRule(METER_FACTS.volts, GOAL, 0, { usual: { perS: 0.1, clockwise: 1, moves: 3 } })
    const told = (way: 1 | -1, by = known) =>
      JSON.stringify(workGuide(live(2.1, { set: { ...startSet(), told: way } }, by), by, HAND).words)
    expect(new Set([told(1), told(-1), told(1, rule)]).size).toBe(3)
  })
})

describe('a check', () => {
  test('hands off; it drops as far as it has settled, nine tenths before it has, and not outside its band', () => {
    expect(said(settled(live(2.4), 'settling', 0.5), rule, CHECK)).toEqual({
      ...{ state: 'settling', way: '', hands: 'off', drop: expect.closeTo(0.45, 9) },
    })
    expect(said(settled(live(2.4), 'settled', 1), rule, CHECK).drop).toBe(1)
    expect(said(settled(live(2.2), 'settled', 1), rule, CHECK).drop).toBe(1)
    expect(said(settled(live(2.7), 'settled', 1), rule, CHECK).drop).toBe(0)
  })

  test('each verdict reads differently', () => {
    const verdicts = ['settling', 'settled', 'erratic', 'frozen', 'two-valued', 'too noisy'] as const
    const words = verdicts.map((verdict) =>
      JSON.stringify(workGuide(settled(live(2.4), verdict, 0.5), rule, CHECK).words),
    )
    expect(new Set(words).size).toBe(verdicts.length)
  })
})

describe('a peak', () => {
  const peak = ruleOf(METER_FACTS.power, { kind: 'peak', dip: false })
  const guide = (
    changes: Partial<PeakWatch>,
    around: { readonly adjuster?: string; readonly atBestSinceMs?: number } = {},
    by = peak,
  ) => {
    const { state, way, hands, drop } = peakGuide({ ...startPeak(), ...changes }, by, { ...HAND, ...around })
    return { state, way, hands, drop }
  }

  test.each<[PeakPhase, object]>([
    ['start', { state: 'climb', way: 'up', hands: 'on', drop: 0 }],
    ['climb', { state: 'climb', way: 'up', hands: 'on', drop: 0 }],
    ['wrong way', { state: 'climb', way: 'back', hands: 'on', drop: 0 }],
    ['passed over', { state: 'passed over', way: 'back', hands: 'on', drop: 0 }],
    ['return', { state: 'return', way: 'up', hands: 'on', drop: 0 }],
    ['at best', { state: 'at best', way: 'hold', hands: 'off', drop: 0.5 }],
    ['snap', { state: 'passed over', way: 'back', hands: 'on', drop: 0 }],
    ['wait', { state: 'settling', way: '', hands: 'off', drop: 0 }],
    ['nudge', { state: 'nudge', way: 'up', hands: 'on', drop: 0 }],
  ])('%s: %j', (phase, expected) => {
    expect(guide({ phase })).toEqual(expected)
  })

  test('at the best it drops for as long as it has to stay there, 1.2 s', () => {
    const at = (atBestSinceMs: number) => guide({ phase: 'at best' }, { atBestSinceMs }).drop
    expect(at(1000)).toBeCloseTo(0.5, 9)
    expect(at(400)).toBeCloseTo(0.75, 9)
    expect(at(-200)).toBeCloseTo(1, 9)
    expect(at(-5000)).toBeCloseTo(1, 9)
  })

  test('a best at the end of the travel is no peak: it is not dropped, and cannot be reached', () => {
    expect(guide({ phase: 'at best', flat: 'stop' })).toEqual({ state: 'cannot reach', way: '', hands: 'off', drop: 0 })
    expect(guide({ phase: 'at best', flat: 'no' }).state).toBe('at best')
    const words = (flat: PeakWatch['flat']) =>
      JSON.stringify(peakGuide({ ...startPeak(), phase: 'climb', flat }, peak, HAND).words)
    expect(words('stop')).not.toBe(words('no'))
  })

  test('turned without any effect: said of an adjuster, and no alarm where nobody turns one', () => {
    for (const phase of ['start', 'climb'] as const) {
      expect(guide({ phase, flat: 'nothing' }).state).toBe('no effect')
      expect(guide({ phase, flat: 'nothing' }, { adjuster: '' }).state).toBe('climb')
    }
    expect(guide({ phase: 'return', flat: 'nothing' }).state).toBe('return')
  })

  test('by a meter that cannot be turned by, hands are off until a nudge is asked for; one may be back', () => {
    const slow = ruleOf({ ...METER_FACTS.power, latencyMs: 2000 }, { kind: 'peak', dip: false })
    expect(guide({ phase: 'start' }, {}, slow)).toMatchObject({ state: 'settling', hands: 'off' })
    const { memory } = startPeak()
    const order = { ...memory.nudging.order, back: true }
    expect(guide({ phase: 'nudge', memory: { ...memory, nudging: { ...memory.nudging, order } } }).way).toBe('back')
  })
})
