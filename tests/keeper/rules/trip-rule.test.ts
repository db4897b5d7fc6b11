import { describe, expect, test } from 'vitest'
import { tripRuleOf } from '../../../src/keeper/rules/keeper-limits.ts'
import type { TripRule } from '../../../src/keeper/rules/keeper-state.ts'
import { foldBench, LIMITS } from '../fold-bench.ts'

/** On at 13.8 V under limits of 16.0 V, with a trip of 16.5 V where there is one. */
function onAtNormal(trip: TripRule) {
  const bench = foldBench({ trip })
  bench.pass(500)
  bench.ask({ verb: 'limits', id: 1, ...LIMITS })
  bench.pass(1500)
  bench.ask({ verb: 'on', id: 2 })
  bench.pass(4000)
  return bench
}

test('the rule of a port: its own trip where it has one or says nothing, else the crowbar, else none', () => {
  expect(tripRuleOf({ hasTrip: true }, 16.2)).toBe('own')
  expect(tripRuleOf({}, 16.2)).toBe('own')
  expect(tripRuleOf({ hasTrip: false }, null)).toBe('none')
  expect(tripRuleOf({ hasTrip: false }, 16.2)).toEqual({ crowbarVolts: 16.2 })
})

describe('what the keeper itself lets up', () => {
  test.each([
    ['none', /^The supply has no over-voltage trip: it is not taken above 13\.80 V/],
    [
      { crowbarVolts: 16 },
      /^the external crowbar trips at 16\.00 V; it must trip above 16\.00 V and not above 16\.50 V/,
    ],
    [
      { crowbarVolts: 16.6 },
      /^the external crowbar trips at 16\.60 V; it must trip above 16\.00 V and not above 16\.50 V/,
    ],
  ] satisfies [TripRule, RegExp][])('with %j: on at normal, 13.81 V refused in words', (trip, words) => {
    const bench = onAtNormal(trip)
    expect(bench.model).toMatchObject({ on: true, setVolts: 13.8 })
    bench.ask({ verb: 'set', id: 3, volts: 13.81, amps: 2.5 })
    bench.pass(3000)
    expect(bench.answer(3)).toMatchObject({
      kind: 'refused',
      code: 'KEEPER_REFUSED',
      words: expect.stringMatching(words),
    })
    expect(bench.model).toMatchObject({ on: true, setVolts: 13.8 })
  })

  test.each(['own', { crowbarVolts: 16.5 }, { crowbarVolts: 16.01 }] satisfies TripRule[])(
    'with %j: up to 15.6 V',
    (trip) => {
      const bench = onAtNormal(trip)
      bench.ask({ verb: 'set', id: 3, volts: 15.6, amps: 2.5 })
      bench.pass(5000)
      expect(bench.answer(3)).toMatchObject({ kind: 'done' })
      expect(bench.model).toMatchObject({ on: true, setVolts: 15.6 })
    },
  )

  test('a trip that is not there is never set', () => {
    const bench = onAtNormal('none')
    expect(bench.model.log.filter(({ what }) => what.startsWith('trip'))).toEqual([])
  })

  test('a crowbar that trips at normal: no limits are taken', () => {
    const bench = onAtNormal({ crowbarVolts: 13.8 })
    expect(bench.answer(1)).toMatchObject({
      kind: 'refused',
      words: expect.stringMatching(/^the external crowbar trips at 13\.80 V, normal is 13\.80 V\. Set it anew/),
    })
    expect(bench.model.on).toBe(false)
  })

  test('a knob turned above normal on such a supply is switched off', () => {
    const bench = onAtNormal('none')
    bench.model.setVolts = 14.2
    bench.pass(2000)
    expect(bench.model.on).toBe(false)
    expect(bench.says.filter((one) => one.kind === 'acted').map(({ why }) => why)).toEqual([
      'the supply is set to 14.20 V, the ceiling is 13.80 V',
    ])
  })

  test('with the output on, limits with a higher normal are looser, and refused', () => {
    const bench = onAtNormal('none')
    bench.ask({ verb: 'limits', id: 3, ...LIMITS, normalVolts: 15.6 })
    bench.pass(2000)
    expect(bench.answer(3)).toMatchObject({
      kind: 'refused',
      words: 'the output is on, and higher limits were asked for: switch it off first',
    })
  })
})
