import { describe, expect, test } from 'vitest'
import { keyed, type Refusal, reached, refuseLooser } from '../../../src/keeper/rules/keeper-limits.ts'
import { lookedWhileSafing, offProved } from '../../../src/keeper/rules/keeper-safing.ts'
import type { KeeperState, Plan, Safing, Told } from '../../../src/keeper/rules/keeper-state.ts'
import { wanted } from '../../../src/keeper/rules/keeper-wanted.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { foldBench, LIMITS, workingBench } from '../fold-bench.ts'
import { look, supplyModel } from '../supply-model.ts'

const inWords = (refusal: Refusal | null) => (refusal === null ? null : sentence(refusal.words))

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

  test('a supply in current limit hides the key, and without limits nobody can tell: keyed', () => {
    const back = { ...look(supplyModel(), 0, 1), amps: 0.1 }
    expect(keyed(LIMITS, { ...back, regulation: 'current' })).toBe(true)
    expect(keyed(null, { ...back, regulation: 'voltage' })).toBe(true)
  })

  test('volts are reached within 1 %, and within 50 mV where that is more', () => {
    expect([13.663, 13.661, 13.939, 13.937].map((volts) => reached(13.8, volts))).toEqual([true, false, false, true])
    expect([2.951, 2.949, 3.049, 3.051].map((volts) => reached(3, volts))).toEqual([true, false, true, false])
  })

  test.each([
    [{ tripVolts: 15.99 }, 'an over-voltage trip of 15.99 V asked for'],
    [{ tripVolts: 18.16 }, 'an over-voltage trip of 18.16 V asked for'],
    [{ ceilingVolts: 16.51, tripVolts: 17 }, 'a ceiling of 16.51 V asked for, the bench allows 16.50 V'],
    [{ ceilingAmps: 4.01 }, 'a current ceiling of 4.010 A asked for, the bench allows 4.000 A'],
    [{ normalVolts: 16.01 }, 'normal is 16.01 V, the ceiling 16.00 V'],
    [{ receiveAmps: 2.51 }, 'the receive limit is 2.510 A, the ceiling 2.500 A'],
    [{ tripVolts: 16 }, null],
    [{ tripVolts: 18.149 }, null],
    [{ ceilingVolts: 16.5, tripVolts: 16.5, ceilingAmps: 4, normalVolts: 16.5, receiveAmps: 4 }, null],
  ])('limits %j on a supply of 16.5 V and 4 A: %s', (change, words) => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS, ...change })
    bench.pass(500)
    if (words === null) expect(bench.answer(1)?.kind).toBe('done')
    else expect(bench.answer(1)).toMatchObject({ kind: 'refused', words: expect.stringContaining(words) })
  })

  test('volts and current limit equal to their ceiling are taken, above it refused', () => {
    const bench = workingBench()
    bench.ask({ verb: 'set', id: 1, volts: 16, amps: 2.5 })
    bench.pass(6000)
    expect(bench.answer(1)?.kind).toBe('done')
    bench.ask({ verb: 'set', id: 2, volts: 16.01, amps: 2.5 })
    bench.ask({ verb: 'set', id: 3, volts: 16, amps: 2.501 })
    expect(bench.answer(2)).toMatchObject({ words: '16.01 V asked for, the ceiling is 16.00 V' })
    expect(bench.answer(3)).toMatchObject({ words: 'a current limit of 2.501 A asked for, the ceiling is 2.500 A' })
  })
})

describe('tighter limits while the output is on', () => {
  const back = { ...look(supplyModel(), 0, 1), output: 'on', setVolts: 15, limitAmps: 2 } as const
  const words = (change: Partial<typeof LIMITS | Record<keyof typeof LIMITS, number>>) =>
    inWords(refuseLooser({ trip: 'own' }, LIMITS, { ...LIMITS, ...change }, back))

  test('the same again, and each of them lower down to where the supply stands, are taken', () => {
    expect(words({})).toBeNull()
    expect(words({ ceilingVolts: 15 })).toBeNull()
    expect(words({ ceilingAmps: 2 })).toBeNull()
    expect(words({ keyedAboveAmps: 0.5, tripVolts: 15.5 })).toBeNull()
  })

  test('a ceiling below what the supply is set to is refused, with both values', () => {
    expect(words({ ceilingVolts: 14.99 })).toBe('the supply is set to 15.00 V, above the new ceiling of 14.99 V')
    expect(words({ ceilingAmps: 1.9 })).toBe('the current limit is 2.000 A, above the new ceiling of 1.900 A')
  })

  test('a supply without a trip is held to normal: the ceiling alone says nothing', () => {
    const low = { ...back, setVolts: 13.8 }
    const at = (normalVolts: number) =>
      inWords(refuseLooser({ trip: 'none' }, { ...LIMITS, normalVolts: 13.8 }, { ...LIMITS, normalVolts }, low))
    expect(at(13.8)).toBeNull()
    expect(at(13.9)).toBe('the output is on, and higher limits were asked for: switch it off first')
    expect(at(13.7)).toBe('the supply is set to 13.80 V, above the new ceiling of 13.70 V')
  })

  test('limits that were never known cannot be tightened', () => {
    expect(inWords(refuseLooser({ trip: 'own' }, null, LIMITS, back))).toBe(
      'the output is on under limits that are not known: switch it off first',
    )
  })
})

describe('what proves that the output is off', () => {
  const off = { ...look(supplyModel(), 0, 1), output: 'off' } as const
  test.each([
    ['its word and less than 1 V', { volts: 0.99 }, null, true],
    ['its word, but 1 V and nothing known of before', { volts: 1 }, null, false],
    ['its word, and volts that fell by more than 0.2 V', { volts: 15.39 }, 15.6, true],
    ['its word, but volts that fell by 0.2 V or less', { volts: 15.41 }, 15.6, false],
    ['"on", whatever the volts', { output: 'on', volts: 0 }, 15.6, false],
    ['"on" of a supply that has tripped, and no volts', { output: 'on', tripped: true, volts: 0.99 }, 15.6, true],
    ['"on" of a supply that has tripped, but 1 V', { output: 'on', tripped: true, volts: 1 }, 15.6, false],
  ] as const)('%s', (_, change, fromVolts, proved) => {
    expect(offProved({ ...off, ...change }, fromVolts)).toBe(proved)
  })

  test('the fall is measured from the highest that was seen on the way, not from the newest', () => {
    const safing: Safing = {
      ...{ why: 'stop', sinceMs: 0, stage: 'prove', byItself: false, ids: [7], tries: 0 },
      ...{ offDueMs: 0, offDoneMs: 0, fromVolts: 13.8, saidUnproved: false, downAtTry: -1 },
    }
    const state: KeeperState = { ...foldBench().state(), safing }
    const told: Told = { says: [], notes: [] }
    const seen = (from: Safing, volts: number, output: 'on' | 'off') =>
      lookedWhileSafing(state, from, { ...off, output, volts }, told).safing
    expect(seen(safing, 15.6, 'on')?.fromVolts).toBe(15.6)
    expect(seen(safing, 12, 'on')?.fromVolts).toBe(13.8)
    expect(seen({ ...safing, fromVolts: 15.6 }, 15.45, 'off')?.fromVolts).toBe(15.6)
    expect(seen({ ...safing, fromVolts: 15.6 }, 15.3, 'off')).toBeNull()
  })
})

test('off is proved only by a look that began after the order was taken', () => {
  const safing: Safing = {
    ...{ why: 'stop', sinceMs: 50, stage: 'prove', byItself: false, ids: [7], tries: 0 },
    ...{ offDueMs: 50, offDoneMs: 100, fromVolts: 15.6, saidUnproved: false, downAtTry: -1 },
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

test('a step up waits for a look that began 40 ms or more after the step before, and 100 ms between two steps', () => {
  const bench = workingBench()
  const { back } = bench.state()
  if (back === null) throw new Error('the supply was not read')
  const order = { verb: 'set', id: 1, wish: 1, volts: 15.6, amps: 2.5 } as const
  const stepped = (steppedMs: number): KeeperState => {
    const plan: Plan = {
      ...{ order, steps: [{ do: 'ramp', volts: 15.6, keyed: 'refuse' }], sinceMs: steppedMs - 500, looks: 0, tries: 0 },
      ...{ steppedMs, untilMs: steppedMs + 60_000, fromVolts: 13.8 },
    }
    return { ...bench.state(), plan }
  }
  const up = { act: { do: 'volts', volts: 13.9 } }
  expect(wanted(stepped(back.beganMs - 39), back.beganMs + 61)).toMatchObject({ act: { do: 'look' } })
  expect(wanted(stepped(back.beganMs - 40), back.beganMs + 60)).toMatchObject(up)
  expect(wanted(stepped(back.beganMs - 40), back.beganMs + 59)).toEqual({ do: 'rest', untilMs: back.beganMs + 60 })
  const down: KeeperState = { ...stepped(back.beganMs - 40), back: { ...back, amps: 1.24 } }
  expect(wanted(down, back.beganMs + 60)).toMatchObject({ act: { do: 'look' } })
})
