import { describe, expect, test } from 'vitest'
import { reopenedEntries, restoreJob } from '../../../src/core/job/restore-job.ts'
import {
  cannotBegin,
  highestVolts,
  notRaised,
  triedLongAgo,
  tripCautions,
  tripNotCovered,
  tripOnReopen,
} from '../../../src/core/plan/raising.ts'
import type { SupplyTrip } from '../../../src/schema/kept/supply-trip-kind.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { JobBench, METERS } from '../../kit/job/job-bench.ts'

const SHEET = { supplyVolts: 13.8, ceilingVolts: 16, tripVolts: 16.5 }
const crowbar = (crowbarVolts: number, tried = '2026-09-01'): SupplyTrip => ({ crowbarVolts, tried })
const TODAY = '2026-11-02'

describe('a sheet with 13.8 V, never above 16.0 V, trip at 16.5 V', () => {
  test.each([
    ['own', 16],
    ['none', 13.8],
    [crowbar(16.0), 13.8],
    [crowbar(16.01), 16],
    [crowbar(16.5), 16],
    [crowbar(16.51), 13.8],
  ] satisfies [SupplyTrip, number][])('with %j the supply goes up to %s V', (trip, volts) => {
    expect(highestVolts(trip, SHEET)).toBe(volts)
    expect(notRaised(trip, SHEET) === null).toBe(volts === 16)
    expect(tripNotCovered(trip, SHEET)).toHaveLength(volts === 16 ? 0 : 1)
  })

  test('what is said of each before Begin', () => {
    expect(tripCautions('own', SHEET, TODAY)).toEqual([])
    expect(worded(tripCautions('none', SHEET, TODAY))).toEqual([
      'The supply has no over-voltage trip: it is not taken above 13.80 V, and steps above that are left out. Name an external crowbar in the bench file, or use another supply.',
    ])
    expect(worded(tripCautions(crowbar(16.2), SHEET, TODAY))).toEqual([
      'The supply has no over-voltage trip of its own: the external crowbar trips at 16.20 V and was tried on 2026-09-01. Look that it is connected.',
    ])
    expect(worded(tripCautions(crowbar(15), SHEET, TODAY))).toEqual([
      'The external crowbar trips at 15.00 V, wanted above 16.00 V and at most 16.50 V: the supply is not taken above 13.80 V, and steps above that are left out. To raise it, set the crowbar above 16.00 V and at most 16.50 V, try it and write that in the bench file, or use another supply.',
    ])
  })

  test.each([
    ['2025-11-02', false],
    ['2025-11-01', true],
  ])('a crowbar tried on %s is tried long ago: %s', (tried, long) => {
    expect(triedLongAgo(tried, TODAY)).toBe(long)
    const said = worded(tripCautions(crowbar(16.2, tried), SHEET, TODAY)).join(' ')
    expect(said.includes(`was tried on ${tried}, more than 12 months ago: try it again`)).toBe(long)
  })

  test.each([
    [crowbar(13.8), true],
    [crowbar(13.81), false],
    ['none', false],
    ['own', false],
  ] satisfies [SupplyTrip, boolean][])('with %j no job can be begun: %s', (trip, refused) => {
    expect(cannotBegin(trip, SHEET) !== '').toBe(refused)
  })
})

describe('a job on a supply without a trip', () => {
  const bench = new JobBench(METERS, { supplyTrip: 'none' })
  const line = (id: string) => bench.frame().steps.find((one) => one.id === id)
  const reason = 'supply without an over-voltage trip, no crowbar in the bench file: not above 13.80 V'

  test('the steps above normal are left out in words; the others are there', () => {
    const left = bench.frame().steps.filter(({ state }) => state === 'left out')
    expect(left.map(({ id, result }) => [id, result])).toEqual([
      ['drive', reason],
      ['power', reason],
    ])
    expect(line('power-normal')).toMatchObject({ state: 'to do' })
  })

  test('opened by hand, such a step is not begun, and nothing is raised', () => {
    bench.ask({ kind: 'open step', step: 'power' })
    expect(bench.frame()).toMatchObject({ state: 'read step', because: reason })
    expect(bench.ask({ kind: 'ready' })).toEqual({
      ok: false,
      words: `${reason}: leave the step out with a reason, or add an instrument`,
    })
    expect(bench.effects.filter(({ kind }) => kind === 'arm')).toEqual([])
  })

  test('its card says it before anything is switched on', () => {
    expect(bench.frame().step?.cautions).toContainEqual(
      expect.stringMatching(/^The supply has no over-voltage trip: it is not taken above 13\.80 V/),
    )
  })
})

test('the drop on the lead is not made up for above normal: said, and judged as it is', () => {
  const bench = new JobBench(METERS, { supplyTrip: 'none' })
  bench.begin('plug-volts')
  bench.shows.set('DC voltage', 13.79)
  bench.run(10)
  bench.amps = 1.2
  bench.shows.set('DC voltage', 13.7)
  bench.run(20)
  const told = bench.frame().events.map(({ words }) => words)
  expect(told).toContain('The lead drops 0.09 V: this supply does not go above normal to make up for it.')
  const armed = bench.effects.flatMap((effect) => (effect.kind === 'arm' ? [effect.volts] : []))
  expect(Math.max(...armed)).toBe(13.8)
})

describe('a job that is opened again', () => {
  const own = new JobBench()
  const planOf = (supplyTrip: SupplyTrip) => new JobBench(METERS, { supplyTrip }).job.plan
  const again = (was: SupplyTrip | null, is: SupplyTrip, remembered: Parameters<typeof restoreJob>[1] = []) => {
    const job = restoreJob(planOf(tripOnReopen(was, is).trip), remembered, 0, '2026-01-05T09:00:00.000Z')
    const states = Object.fromEntries(job.plan.lines.map(({ id }, at) => [id, job.results[at]?.state]))
    return { states, entries: worded(reopenedEntries(job, remembered, was, is)) }
  }

  test('was own, is none: what is above normal is left out from here on and written down; what was done stays', () => {
    const done = { kind: 'step' as const, step: 'drive', pass: 'work' as const, state: 'done' as const, reason: '' }
    const { states, entries } = again('own', 'none', [done])
    expect(states).toMatchObject({ drive: 'done', power: 'left out', 'power-normal': 'to do' })
    expect(entries).toEqual([
      {
        kind: 'event',
        what: 'supply trip',
        words:
          'the job was begun with: Over-voltage: the trip of the supply itself. Now: Over-voltage: the supply has no trip of its own, and no crowbar was named.',
      },
      {
        kind: 'step',
        step: 'power',
        pass: 'work',
        state: 'left out',
        reason: 'supply without an over-voltage trip, no crowbar in the bench file: not above 13.80 V',
      },
    ])
  })

  test('was none, is own: what its head left out stays left out, and the other supply is written down', () => {
    const { states, entries } = again('none', 'own')
    expect(states).toMatchObject({ drive: 'left out', power: 'left out' })
    expect(entries).toMatchObject([{ kind: 'event', what: 'supply trip' }])
  })

  test.each([
    ['own', 'own'],
    [null, 'own'],
    ['none', 'none'],
    [crowbar(16.2), crowbar(16.2)],
  ] satisfies [SupplyTrip | null, SupplyTrip][])('was %j, is %j: nothing to be said', (was, is) => {
    expect(again(was, is).entries).toEqual([])
  })

  test('from before it was written down, on a supply without a trip: left out and written down', () => {
    expect(again(null, 'none').entries.map(({ kind }) => kind)).toEqual(['step', 'step'])
  })

  test('another crowbar: the steps are there, and the other one is written down', () => {
    const { states, entries } = again(crowbar(16.2), crowbar(16.3))
    expect(states).toMatchObject({ power: 'to do' })
    expect(entries).toHaveLength(1)
  })

  test('the plan of a supply with a trip leaves nothing out', () => {
    expect(own.frame().steps.filter(({ state }) => state === 'left out')).toEqual([])
  })
})
