import { describe, expect, test } from 'vitest'
import { keyed } from '../../src/keeper/keeper-limits.ts'
import { lookedWhileSafing } from '../../src/keeper/keeper-safing.ts'
import type { KeeperState, Plan, Safing, Told } from '../../src/keeper/keeper-state.ts'
import { wanted } from '../../src/keeper/keeper-wanted.ts'
import { foldBench, LIMITS, workingBench } from './fold-bench.ts'
import { look, supplyModel } from './supply-model.ts'

describe('with the output on, each limit by itself only gets tighter', () => {
  test.each([
    ['the trip', { tripVolts: 16.8 }, 'the output is on, and higher limits were asked for: switch it off first'],
    ['the ceiling', { ceilingVolts: 16.4 }, 'the output is on, and higher limits were asked for: switch it off first'],
    ['the current', { ceilingAmps: 2.6 }, 'the output is on, and higher limits were asked for: switch it off first'],
    [
      'the key-down current',
      { keyedAboveAmps: 1 },
      'the output is on, and a higher key-down current was asked for: switch it off first',
    ],
  ])('%s raised alone is refused', (_name, change, words) => {
    const bench = workingBench()
    bench.ask({ verb: 'limits', id: 1, ...LIMITS, ...change })
    bench.pass(500)
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', code: 'KEEPER_REFUSED', words })
    expect(bench.state().limits).toEqual(LIMITS)
    expect(bench.model.tripVolts).toBe(16.5)
  })
})

describe('on the boundary itself', () => {
  test('a voltage equal to the trip is refused, just below it is taken', () => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS, ceilingVolts: 16, tripVolts: 16 })
    bench.pass(500)
    bench.ask({ verb: 'set', id: 2, volts: 16, amps: 0.8 })
    expect(bench.answer(2)).toMatchObject({ kind: 'refused', words: '16.00 V asked for, the supply trips at 16.00 V' })
    bench.ask({ verb: 'set', id: 3, volts: 15.99, amps: 0.8 })
    bench.pass(500)
    expect(bench.answer(3)?.kind).toBe('done')
  })

  test('a current equal to the key-down current is keyed, just below it is not', () => {
    const back = { ...look(supplyModel(), 0, 1), regulation: 'voltage' } as const
    expect(keyed(LIMITS, { ...back, amps: 0.9 })).toBe(true)
    expect(keyed(LIMITS, { ...back, amps: 0.8999 })).toBe(false)
  })
})

test('off is proved only by a look that began after the order was taken', () => {
  const safing: Safing = {
    ...{ why: 'stop', sinceMs: 50, stage: 'prove', byItself: false, ids: [7], tries: 0 },
    ...{ offDueMs: 50, offDoneMs: 100, fromVolts: 15.6, saidUnproved: false },
  }
  const state: KeeperState = { ...foldBench().state(), safing }
  const told: Told = { says: [], notes: [] }
  const off = look(supplyModel(), 99, 130)
  expect(lookedWhileSafing(state, safing, off, told).safing?.stage).toBe('prove')
  expect(told.says).toEqual([])
  expect(lookedWhileSafing(state, safing, { ...off, beganMs: 100 }, told).safing).toBeNull()
  expect(told.says).toMatchObject([{ kind: 'done', id: 7 }])
})

test('a step up waits for a look that is at most 110 ms old', () => {
  const bench = workingBench()
  const { back } = bench.state()
  if (back === null) throw new Error('the supply was not read')
  const sinceMs = back.beganMs - 1
  const order = { verb: 'set', id: 1, wish: 1, volts: 15.6, amps: 2.5 } as const
  const plan: Plan = {
    ...{ order, steps: [{ do: 'ramp', volts: 15.6, keyed: 'refuse' }], sinceMs, looks: 0, tries: 0 },
    ...{ steppedMs: Number.NEGATIVE_INFINITY, untilMs: sinceMs + 60_000, fromVolts: 13.8 },
  }
  const state: KeeperState = { ...bench.state(), plan }
  expect(wanted(state, back.atMs + 110)).toMatchObject({ act: { do: 'volts', volts: 13.9 } })
  expect(wanted(state, back.atMs + 111)).toMatchObject({ act: { do: 'look' } })
})
