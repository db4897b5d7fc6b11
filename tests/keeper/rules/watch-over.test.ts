import { describe, expect, test } from 'vitest'
import type { SupplyReadBack } from '../../../src/instrument/supply-port.ts'
import { ampsSlack } from '../../../src/keeper/rules/keeper-limits.ts'
import { offProved } from '../../../src/keeper/rules/keeper-safing.ts'
import { type KeeperState, rulesFor } from '../../../src/keeper/rules/keeper-state.ts'
import { beatDueMs, mayBeOn, stillHigh, urgent, wanted } from '../../../src/keeper/rules/keeper-wanted.ts'
import { watchOver } from '../../../src/keeper/rules/keeper-watch.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { foldBench, workingBench } from '../fold-bench.ts'

/** At work at 13.8 V, long after it was switched on. */
const bench = workingBench()
bench.pass(5000)
const working = bench.state()
const sinceMs = working.output.sinceMs
const last = working.back
if (!last) throw new TypeError('nothing was looked at')

/** A look that began at so many ms after the output was last told something. */
function looked(afterMs: number, changes: Partial<SupplyReadBack> = {}): SupplyReadBack {
  return { ...(last as SupplyReadBack), beganMs: sinceMs + afterMs, atMs: sinceMs + afterMs + 10, ...changes }
}
const alarm = (state: KeeperState, back: SupplyReadBack) => worded(watchOver(state, back)).alarm

describe('a look at the supply calls for safe', () => {
  test('not while all is well', () => {
    expect(watchOver(working, looked(9000))).toEqual({ sagSinceMs: null, overLooks: 0, alarm: null })
  })

  test('when it has tripped; not where it is kept off already', () => {
    expect(alarm(working, looked(9000, { tripped: true }))).not.toBeNull()
    expect(alarm({ ...working, locked: 'stopped' }, looked(9000, { tripped: true }))).toBeNull()
  })

  test('when the output is other than it was told, from 0.6 s after that on, and not while it is being told', () => {
    const off = { ...working, output: { asked: 'off', sinceMs } } as const
    for (const [state, output] of [
      [working, 'off'],
      [off, 'on'],
    ] as const) {
      expect(alarm(state, looked(599, { output }))).toBeNull()
      expect(alarm(state, looked(600, { output }))).not.toBeNull()
      for (const act of ['on', 'off'] as const)
        expect(alarm({ ...state, inFlight: { do: act } }, looked(600, { output }))).toBeNull()
      expect(alarm({ ...state, inFlight: { do: 'look' } }, looked(600, { output }))).not.toBeNull()
    }
    expect(alarm({ ...working, output: { asked: 'unknown', sinceMs } }, looked(9000, { output: 'off' }))).toBeNull()
  })

  // 16 V and 1 %
  test.each([
    ['set', 'setVolts'],
    ['measured', 'volts'],
  ] as const)('when it is %s above the ceiling in two looks running', (_, key) => {
    const once = watchOver(working, looked(9000, { [key]: 16.17 }))
    expect(once).toMatchObject({ overLooks: 1, alarm: null })
    const twice = watchOver({ ...working, overLooks: 1 }, looked(9100, { [key]: 16.17 }))
    expect(twice).toMatchObject({ overLooks: 2 })
    expect(worded(twice).alarm).toMatch(/16\.17 V.*16\.00 V/)
    expect(watchOver({ ...working, overLooks: 1 }, looked(9100, { [key]: 16.15 }))).toMatchObject({
      overLooks: 0,
      alarm: null,
    })
    expect(watchOver({ ...working, overLooks: 1 }, looked(9100, { [key]: 16.17, output: 'off' })).overLooks).toBe(0)
  })

  test('before there are limits it is the bench that sets the ceiling', () => {
    const unlimited = { ...working, limits: null, overLooks: 1 }
    expect(alarm(unlimited, looked(9000, { volts: 16.6 }))).toBeNull()
    expect(alarm(unlimited, looked(9000, { volts: 16.7 }))).not.toBeNull()
  })

  test('a supply that nothing trips counts from normal on', () => {
    const none = { ...working, rules: { ...working.rules, trip: 'none' as const }, overLooks: 1 }
    expect(alarm(none, looked(9000, { volts: 13.9 }))).toBeNull()
    expect(alarm(none, looked(9000, { volts: 13.95 }))).not.toBeNull()
  })

  test('when the current limit has pulled it below 0.8 of its setting for 0.5 s, from 1 s after it came on', () => {
    const low = { volts: 0.79 * 13.8 }
    expect(watchOver(working, looked(999, low)).sagSinceMs).toBeNull()
    const begun = watchOver(working, looked(1000, low))
    expect(begun).toMatchObject({ sagSinceMs: sinceMs + 1010, alarm: null })
    const since = { ...working, sagSinceMs: sinceMs + 1010 }
    expect(alarm(since, looked(1499, low))).toBeNull()
    expect(alarm(since, looked(1500, low))).toMatch(/10\.90 V/)
    expect(watchOver(since, looked(1500, { volts: 0.8 * 13.8 }))).toMatchObject({ sagSinceMs: null, alarm: null })
    const off = { ...since, output: { asked: 'off', sinceMs } } as const
    expect(watchOver(off, looked(1500, { ...low, output: 'off' })).sagSinceMs).toBeNull()
  })
})

describe('what is to be done now', () => {
  const idle = { ...working, plan: null, restAmps: null, lookBegunMs: 100_000 }
  const due = (state: KeeperState) => {
    const next = wanted(state, 100_000)
    return next.do === 'rest' ? next.untilMs - 100_000 : next
  }

  test('a look each 110 ms while the output may be on, each 190 ms while it is off', () => {
    expect(due(idle)).toBe(110)
    const off = { ...idle, output: { asked: 'off', sinceMs }, back: { ...last, output: 'off' } } as const
    expect(due(off)).toBe(190)
    expect(wanted(off, 100_190)).toEqual({ do: 'act', act: { do: 'look' }, urgent: false })
    expect(wanted(off, 100_189).do).toBe('rest')
  })

  test.each([
    ['told on', { output: { asked: 'on', sinceMs } }],
    ['nobody knows', { output: { asked: 'unknown', sinceMs } }],
    ['told off, seen on', { back: { ...last, output: 'on' } }],
    ['told off, not seen', { blind: { beganMs: 1, atMs: 2 } }],
  ] as const)('the output may be on: %s', (_, changes) => {
    const off = { ...idle, output: { asked: 'off', sinceMs }, back: { ...last, output: 'off' }, blind: null } as const
    expect(mayBeOn(off)).toBe(false)
    expect(mayBeOn({ ...off, ...changes })).toBe(true)
  })

  test('the limit of receive as soon as the key is seen up, not while it is down, off or unseen', () => {
    const rest = { ...idle, restAmps: 0.8 }
    const up = { ...last, amps: 0.3, regulation: 'voltage' } as const
    expect(wanted({ ...rest, back: up }, 100_000)).toMatchObject({ act: { do: 'amps', amps: 0.8 } })
    expect(wanted({ ...rest, back: { ...up, amps: 1.2 } }, 100_000).do).toBe('rest')
    expect(wanted({ ...rest, back: { ...up, output: 'off' } }, 100_000).do).toBe('rest')
    expect(wanted({ ...rest, back: up, blind: { beganMs: 1, atMs: 2 } }, 100_000).do).toBe('rest')
  })

  test('off goes before all else, at once', () => {
    const safe = foldBench()
    const { safing } = safe.state()
    if (!safing) throw new TypeError('not on its way to safe')
    const state = { ...idle, safing: { ...safing, stage: 'off' as const, offDueMs: 100_050 } }
    expect(urgent(state, 100_049)).toBe(false)
    expect(urgent(state, 100_050)).toBe(true)
    expect(wanted(state, 100_050)).toEqual({ do: 'act', act: { do: 'off' }, urgent: true })
    expect(wanted({ ...state, lookBegunMs: 100_040 }, 100_049)).toEqual({ do: 'rest', untilMs: 100_050 })
    expect(urgent(idle, 200_000)).toBe(false)
  })

  test('ended: nothing more', () => {
    expect(wanted({ ...idle, ended: { proved: true } }, 1)).toEqual({ do: 'end', proved: true })
  })
})

test('a beat is missed 3 s after the last, never while the supply is kept off', () => {
  expect(beatDueMs({ ...working, beatMs: 1000 })).toBe(4000)
  expect(beatDueMs({ ...working, beatMs: 1000, locked: 'stopped' })).toBe(Number.POSITIVE_INFINITY)
})

test('volts are still above where a move was to end from 1 % on, and 50 mV', () => {
  expect(stillHigh(13.8, 13.937)).toBe(false)
  expect(stillHigh(13.8, 13.939)).toBe(true)
  expect(stillHigh(3, 3.049)).toBe(false)
  expect(stillHigh(3, 3.051)).toBe(true)
  expect(stillHigh(3, 1)).toBe(false)
})

test.each([
  [1, 2000, 3000, 1],
  [2, 4000, 3000, 1],
  [10, 20_000, 5000, 5],
])(
  'on a clock %d times as fast: asleep after %d ms of it, a beat lost after %d ms, patience %d',
  (times, sleptMs, beatLostMs, patience) => {
    expect(rulesFor('supply', 16.5, 4, times)).toMatchObject({
      sleptMs,
      beatLostMs,
      patience,
      ownVolts: 16.5,
      ownAmps: 4,
    })
  },
)

test.each([
  [0.5, 0.02],
  [1, 0.02],
  [2.5, 0.05],
])('a current limit of %d A read back may differ by %d A: 2 %%, and 20 mA', (amps, slack) => {
  expect(ampsSlack(amps)).toBeCloseTo(slack, 12)
})

test('off is proved below 1 V, or by a fall of 0.2 V from where it was; without that nothing has fallen', () => {
  const off = (volts: number) => ({ ...last, output: 'off', volts }) as const
  expect(offProved(off(0.99), null)).toBe(true)
  expect(offProved(off(5), null)).toBe(false)
  expect(offProved(off(13.5), 13.8)).toBe(true)
  expect(offProved(off(13.7), 13.8)).toBe(false)
  expect(offProved({ ...off(0.5), output: 'on' }, 13.8)).toBe(false)
})

test.each([
  [13.8, 0.8, 'normal'],
  [13.8, 2.5, 'working'],
  [12, 0.8, 'working'],
])('at %d V and %d A it rests "%s": normal is the voltage and the limit of receive', (volts, amps, resting) => {
  const moved = workingBench()
  moved.ask({ verb: 'set', id: 1, volts, amps })
  moved.pass(3000)
  expect(moved.answer(1)).toMatchObject({ kind: 'done', state: { resting } })
  expect(workingBench(volts, amps).answer(1003)).toMatchObject({ state: { resting } })
})
