import { describe, expect, test } from 'vitest'
import type { SupplyReadBack } from '../../../src/instrument/supply-port.ts'
import { decide, firstSteps, goalOf, nextStep } from '../../../src/keeper/rules/keeper-plan.ts'
import type { KeeperState, Order, Plan, Step } from '../../../src/keeper/rules/keeper-state.ts'
import { LIMITS, workingBench } from '../fold-bench.ts'

/** At work at 13.8 V and 2.5 A, in receive. */
const bench = workingBench()
bench.pass(1000)
const state = bench.state()
const back = state.back as SupplyReadBack

const set = (volts: number, amps = 2.5): Order => ({ verb: 'set', id: 1, wish: 1, volts, amps })
const normal: Order = { verb: 'normal', id: 1, upTo: 0, why: '' } as Order
const on: Order = { verb: 'on', id: 1, wish: 1 }
const limits: Order = { verb: 'limits', id: 1, wish: 1, ...LIMITS }

/** Steps by their names; what is set by its value. */
function named(steps: ReturnType<typeof decide>): readonly string[] {
  if ('code' in steps) return [steps.code]
  return steps.map((step) => {
    if (step.do !== 'act') return step.do
    const { act } = step
    return 'volts' in act ? `${act.do} ${act.volts}` : 'amps' in act ? `${act.do} ${act.amps}` : act.do
  })
}
const decided = (order: Order, seen: Partial<SupplyReadBack> = {}, changes: Partial<KeeperState> = {}) =>
  named(decide({ ...state, ...changes }, order, { ...back, ...seen }))

describe('down goes at once, before anything is looked at', () => {
  const first = (order: Order, changes: Partial<KeeperState> = {}) => named(firstSteps({ ...state, ...changes }, order))

  test('from where the supply was last seen, while its output may be on', () => {
    expect(first(set(12))).toEqual(['volts 12', 'decide'])
    expect(first(set(13.8))).toEqual(['decide'])
    expect(first(set(15.6))).toEqual(['decide'])
    expect(first(set(13.7985))).toEqual(['volts 13.7985', 'decide'])
    expect(first(set(13.7995))).toEqual(['decide'])
    expect(first(normal, { back: { ...back, setVolts: 15.6 } })).toEqual(['volts 13.8', 'decide'])
    expect(first(on)).toEqual(['decide'])
    expect(first(set(12), { back: null })).toEqual(['decide'])
  })

  test('told off and seen off it is no hurry; seen on, whatever was told, it is', () => {
    const told = { output: { asked: 'off', sinceMs: 0 } } as const
    expect(first(set(12), { ...told, back: { ...back, output: 'off' } })).toEqual(['decide'])
    expect(first(set(12), told)).toEqual(['volts 12', 'decide'])
    const unknown = { output: { asked: 'unknown', sinceMs: 0 }, back: { ...back, output: 'off' } } as const
    expect(first(set(12), unknown)).toEqual(['volts 12', 'decide'])
  })

  test('a move ends at its voltage, normal at that of the limits, anything else is no move', () => {
    expect(goalOf(state, set(12))).toBe(12)
    expect(goalOf(state, normal)).toBe(13.8)
    expect(goalOf({ ...state, limits: null }, normal)).toBeNull()
    expect(goalOf(state, on)).toBeNull()
    expect(goalOf(state, limits)).toBeNull()
  })
})

describe('what an order takes, seen from a fresh look', () => {
  test('up: the current limit first, then step by step; down: the voltage first', () => {
    expect(decided(set(15.6, 2.5))).toEqual(['ramp', 'agree', 'reach'])
    expect(decided(set(15.6, 2))).toEqual(['amps 2', 'ramp', 'agree', 'reach'])
    expect(decided(set(12, 2))).toEqual(['volts 12', 'amps 2', 'agree', 'reach'])
    expect(decided(set(13.8, 2.5))).toEqual(['agree', 'reach'])
    expect(decided(set(13.8005, 2.5))).toEqual(['agree', 'reach'])
    expect(decided(set(13.8015, 2.5))).toEqual(['ramp', 'agree', 'reach'])
    expect(decided(set(13.8, 2.5006))).toEqual(['amps 2.5006', 'agree', 'reach'])
    expect(decided(set(13.8, 2.5004))).toEqual(['agree', 'reach'])
  })

  test('with the key down nothing goes up, and down it goes', () => {
    expect(decided(set(15.6), { amps: 1.2 })).toEqual(['KEEPER_REFUSED'])
    expect(decided(set(12), { amps: 1.2 })).toEqual(['volts 12', 'agree', 'reach'])
  })

  test('with the output off settings alone are made', () => {
    expect(decided(set(15.6, 2), { output: 'off' })).toEqual(['amps 2', 'volts 15.6', 'agree'])
    expect(decided(normal, { output: 'off' })).toEqual(['amps 0.8', 'volts 13.8', 'agree'])
  })

  test('to normal: down at once, or up once the key is up; the limit of receive after that', () => {
    expect(decided(normal, { setVolts: 15.6 })).toEqual(['volts 13.8', 'agree', 'rest limit', 'reach'])
    expect(decided(normal)).toEqual(['agree', 'rest limit', 'reach'])
    expect(decided(normal, { setVolts: 12 })).toEqual(['ramp', 'agree', 'rest limit', 'reach'])
    const [ramp] = decide(state, normal, { ...back, setVolts: 12 }) as readonly Step[]
    expect(ramp).toEqual({ do: 'ramp', volts: 13.8, keyed: 'wait' })
    const [up] = decide(state, set(15.6), back) as readonly Step[]
    expect(up).toEqual({ do: 'ramp', volts: 15.6, keyed: 'refuse' })
    expect(decided(normal, {}, { limits: null })).toEqual([])
  })

  test('limits: with the output off all of it, the voltage down before the trip; with it on only what is tighter', () => {
    expect(decided(limits, { output: 'off', setVolts: 13.8 })).toEqual([
      ...['off', 'prove off', 'amps 0.8', 'trip 16.5', 'agree'],
    ])
    expect(decided(limits, { output: 'off', setVolts: 15 })).toEqual([
      ...['off', 'prove off', 'amps 0.8', 'volts 13.8', 'trip 16.5', 'agree'],
    ])
    expect(decided(limits)).toEqual(['trip 16.5', 'agree'])
    expect(decided({ ...limits, tripVolts: 17 } as Order)).toEqual(['KEEPER_REFUSED'])
    expect(decided(limits, { output: 'off', tripped: true })).toEqual(['KEEPER_TRIPPED'])
  })

  test('on: first so low that nothing is harmed, then off again and on at what is wanted', () => {
    const off = { output: 'off' } as const
    const steps = decided(on, off, { target: { volts: 12, amps: 0.8 } })
    expect(steps.slice(0, 2)).toEqual(['off', 'prove off'])
    expect(steps).toContain('sniff')
    expect(steps.slice(-6)).toEqual(['amps 0.8', 'trip 16.5', 'volts 12', 'agree', 'on', 'reach'])
    expect(decided(on)).toEqual([])
    expect(decided(on, { ...off, tripped: true })).toEqual(['KEEPER_TRIPPED'])
    expect(decided(on, off, { target: null })).toEqual([])
    expect(decided(on, off, { limits: null })).toEqual([])
  })

  test('a supply without a trip of its own is given none', () => {
    const rules = { ...state.rules, trip: { crowbarVolts: 16.4 } }
    expect(decided(limits, {}, { rules })).toEqual(['agree'])
    expect(decided(on, { output: 'off' }, { rules }).some((one) => one.startsWith('trip'))).toBe(false)
  })
})

describe('how long a step may take', () => {
  const plan = { steps: [], sinceMs: 0, looks: 3, tries: 2, steppedMs: 9, untilMs: 0 } as unknown as Plan
  test.each<[Step, number]>([
    [{ do: 'decide' }, 5000],
    [{ do: 'prove off' }, 3000],
    [{ do: 'reach', volts: 12 }, 5000],
    [{ do: 'ramp', volts: 15.6, keyed: 'refuse' }, 5000 + 2000 * 15.6],
    [{ do: 'ramp', volts: 13.8, keyed: 'wait' }, 5000 + 2000 * 13.8 + 30_000],
    [{ do: 'act', act: { do: 'off' } }, Number.POSITIVE_INFINITY],
  ])('%j: %d ms, and as many times that as there is patience', (step, ms) => {
    expect(nextStep(plan, [step], 1000, 1)).toMatchObject({ sinceMs: 1000, looks: 0, tries: 0, untilMs: 1000 + ms })
    expect(nextStep(plan, [step], 1000, 3).untilMs).toBe(1000 + 3 * ms)
  })
})
