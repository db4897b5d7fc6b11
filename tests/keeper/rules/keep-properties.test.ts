import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { type FoldBench, foldBench, LIMITS } from '../fold-bench.ts'

type Move =
  | {
      readonly do: 'limits'
      readonly ceilingVolts: number
      readonly normalVolts: number
      readonly keyedAboveAmps: number
    }
  | { readonly do: 'set'; readonly volts: number; readonly amps: number }
  | { readonly do: 'on' | 'state' }
  | { readonly do: 'normal' | 'off' }
  | { readonly do: 'trip' | 'leave' }
  | { readonly do: 'beats' | 'deaf' | 'keyed' | 'short'; readonly is: boolean }
  | { readonly do: 'knob'; readonly volts: number }

const volts = fc.oneof(
  fc.constantFrom(10.8, 12, 13.8, 15.6, 16, 16.2, 16.5, 20, 156),
  fc.double({ min: 0, max: 20, noNaN: true }),
)
const amps = fc.constantFrom(0.1, 0.8, 1.2, 2.5, 4, 10)
const move: fc.Arbitrary<Move> = fc.oneof(
  {
    weight: 3,
    arbitrary: fc.record({
      do: fc.constant('limits' as const),
      ceilingVolts: volts,
      normalVolts: fc.constantFrom(12, 13.8),
      keyedAboveAmps: fc.constantFrom(0.6, 0.9),
    }),
  },
  {
    weight: 4,
    arbitrary: fc.constant({ do: 'limits' as const, ceilingVolts: 16, normalVolts: 13.8, keyedAboveAmps: 0.9 }),
  },
  { weight: 6, arbitrary: fc.record({ do: fc.constant('set' as const), volts, amps }) },
  { weight: 6, arbitrary: fc.constant({ do: 'on' as const }) },
  {
    weight: 4,
    arbitrary: fc.oneof(
      fc.record({ do: fc.constantFrom('normal' as const, 'off' as const) }),
      fc.constant({ do: 'state' as const }),
    ),
  },
  { weight: 1, arbitrary: fc.record({ do: fc.constantFrom('trip' as const, 'leave' as const) }) },
  { weight: 5, arbitrary: fc.record({ do: fc.constantFrom('beats' as const, 'keyed' as const), is: fc.boolean() }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constantFrom('deaf' as const, 'short' as const), is: fc.boolean() }) },
  {
    weight: 1,
    arbitrary: fc.record({ do: fc.constant('knob' as const), volts: fc.double({ min: 0, max: 18, noNaN: true }) }),
  },
)
const script = fc.array(fc.tuple(move, fc.constantFrom(1, 40, 300, 900, 2500, 4000)), { minLength: 4, maxLength: 30 })
const actMs = fc.constantFrom(1, 10, 60)

interface Run {
  readonly bench: FoldBench
  readonly ids: readonly number[]
  /** At the end of each move: how long there was no beat, how long the supply has been reachable and left alone. */
  readonly ends: readonly { readonly silentMs: number; readonly reachedMs: number; readonly on: boolean }[]
}

/** Plays a script; afterwards there are beats and answers again for a while, so that every order ends. */
function play(moves: readonly (readonly [Move, number])[], ms: number): Run {
  const bench = foldBench({ actMs: ms })
  bench.pass(300)
  const ids: number[] = []
  const ends: { silentMs: number; reachedMs: number; on: boolean }[] = []
  let troubledMs = 0
  const ask = (make: (id: number) => Parameters<FoldBench['ask']>[0]) => {
    const id = ids.length + 1
    ids.push(id)
    bench.ask(make(id))
  }
  for (const [one, forMs] of moves) {
    switch (one.do) {
      case 'limits':
        ask((id) => ({ verb: 'limits', id, ...LIMITS, ...one, tripVolts: Math.min(one.ceilingVolts + 0.5, 18) }))
        break
      case 'set':
        ask((id) => ({ verb: 'set', id, volts: one.volts, amps: one.amps }))
        break
      case 'on':
        ask((id) => ({ verb: 'on', id }))
        break
      case 'state':
        ask((id) => ({ verb: 'state', id }))
        break
      case 'normal':
      case 'off':
        ask((id) => ({ verb: one.do, id, why: 'told to' }))
        break
      case 'leave':
        bench.feed({ kind: 'leave', why: 'pipe closed', atMs: bench.nowMs() })
        break
      case 'trip':
        bench.model.tripped = bench.model.on
        bench.model.on = false
        break
      case 'beats':
        bench.beats = one.is
        break
      case 'deaf':
        bench.deaf = one.is
        break
      case 'keyed':
      case 'short':
        bench.model[one.do] = one.is
        break
      case 'knob':
        bench.model.setVolts = one.volts
        break
    }
    if (bench.deaf) troubledMs = bench.nowMs() + forMs
    bench.pass(forMs)
    ends.push({
      silentMs: bench.nowMs() - bench.state().beatMs,
      reachedMs: bench.nowMs() - troubledMs,
      on: bench.model.on,
    })
  }
  bench.deaf = false
  bench.beats = true
  bench.model.keyed = false
  bench.pass(25_000)
  return { bench, ids, ends }
}

/** The same seed gives each test the same scripts: they are played once. */
const played = new Map<string, Run>()

function playOnce(moves: readonly (readonly [Move, number])[], ms: number): Run {
  const key = JSON.stringify([moves, ms])
  const run = played.get(key) ?? play(moves, ms)
  played.set(key, run)
  return run
}

const holds = (check: (run: Run) => void) =>
  fc.assert(
    fc.property(script, actMs, (moves, ms) => check(playOnce(moves, ms))),
    { numRuns: 150, seed: 20260105 },
  )

const upward = ({ bench }: Run) =>
  bench.acts.flatMap((one) =>
    one.act.do === 'volts' && one.supply.on && one.act.volts > one.supply.setVolts + 1e-6
      ? [{ ...one, volts: one.act.volts }]
      : [],
  )

describe('whatever is asked, keyed, unplugged, turned or left out, in whatever order', () => {
  test('no voltage above the ceiling in force or the bench is ever wanted, no current above it either', () => {
    holds(({ bench }) => {
      for (const { act, before, supply } of bench.acts) {
        // Off is proved, and the setting only goes down.
        if (before.lowering && act.do === 'volts') {
          expect(act.volts).toBeLessThan(supply.setVolts)
          continue
        }
        // Limits under way are in force for what they set themselves.
        const pending = before.plan?.order.verb === 'limits' ? before.plan.order : null
        const limits = pending ?? before.limits
        if (act.do === 'volts') expect(act.volts).toBeLessThanOrEqual(Math.min(16.5, limits?.ceilingVolts ?? 0))
        if (act.do === 'amps') expect(act.amps).toBeLessThanOrEqual(Math.min(4, limits?.ceilingAmps ?? 0))
      }
    })
  })

  test('never up on a live output unless the last look, at most 200 ms old, saw the key up', () => {
    holds((run) => {
      for (const { before, beganMs } of upward(run)) {
        const { back, limits } = before
        expect(back?.amps).toBeLessThan(limits?.keyedAboveAmps ?? 0)
        expect(back?.regulation).not.toBe('current')
        expect(beganMs - (back?.atMs ?? 0)).toBeLessThanOrEqual(200)
      }
    })
  })

  test('up on a live output in steps of 0.1 V, at least 100 ms apart', () => {
    holds((run) => {
      const ups = upward(run)
      for (const [index, { volts: to, supply, beganMs }] of ups.entries()) {
        expect(to - supply.setVolts).toBeLessThanOrEqual(0.1 + 1e-3)
        const before = ups[index - 1]
        if (before) expect(beganMs - before.beganMs).toBeGreaterThanOrEqual(100 - 1e-6)
      }
    })
  })

  test('3.5 s after the last beat the output is off, if the supply could be reached for the last 2 s', () => {
    let seen = 0
    holds(({ ends }) => {
      for (const { silentMs, reachedMs, on } of ends)
        if (silentMs >= 3500 && reachedMs >= 2000) {
          seen += 1
          expect(on).toBe(false)
        }
    })
    expect(seen).toBeGreaterThan(50)
  })

  test('after safe by itself nothing is switched on before the limits came anew', () => {
    holds(({ bench }) => {
      for (const { act, before } of bench.acts)
        if (act.do === 'on') expect([before.locked, before.armed]).toEqual([null, true])
    })
  })

  test('every on comes after off, read back off, current limit, trip, voltage, read back', () => {
    let seen = 0
    holds(({ bench }) => {
      const names = bench.acts.map(({ act }) => act.do)
      for (const [index, name] of names.entries()) {
        if (name !== 'on') continue
        seen += 1
        const since = names.slice(names.lastIndexOf('off', index), index).join(' ')
        expect(since).toMatch(/^off look( look)*( amps)+( volts)?( trip)+( volts)+( look)+$/)
      }
    })
    expect(seen).toBeGreaterThan(50)
  })

  test('every request is answered once', () => {
    holds(({ bench, ids }) => {
      for (const id of ids) expect(bench.says.filter((one) => 'id' in one && one.id === id)).toHaveLength(1)
    })
  })

  test('with the output on, it is looked at 8 times a second or as often as its replies allow', () => {
    const bench = foldBench({ actMs: 10 })
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.ask({ verb: 'on', id: 2 })
    bench.pass(3000)
    const states = bench.says.filter((one) => one.kind === 'state').length
    bench.pass(10_000)
    expect(bench.says.filter((one) => one.kind === 'state').length - states).toBeGreaterThanOrEqual(80)
  })
})
