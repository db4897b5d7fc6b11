import fc from 'fast-check'
import { expect, test, vi } from 'vitest'
import { loadPlans, loadProcedure } from '../../../../src/commands/load-procedures.ts'
import { goalOf } from '../../../../src/core/goal/goal.ts'
import { advanceWatch, startWatch, watchFrame } from '../../../../src/core/guidance/watch.ts'
import { advance, startJob } from '../../../../src/core/job/job.ts'
import { frameOf } from '../../../../src/core/job/picture/job-view.ts'
import { restoreJob } from '../../../../src/core/job/restore-job.ts'
import type { Job, JobEvent } from '../../../../src/core/job/state/job-types.ts'
import { planJob } from '../../../../src/core/plan/job-plan.ts'
import type { Target } from '../../../../src/quantity/target.ts'
import type { Procedure } from '../../../../src/schema/files/procedure-file.ts'
import type { Reading } from '../../../../src/schema/kept/reading.ts'
import type { FromPage } from '../../../../src/schema/messages/live-frame.ts'
import { worded } from '../../../../src/words/sentence/sentence.ts'
import { METERS, quietMeter, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

vi.setConfig({ testTimeout: 60_000 })

const plans = loadPlans()
const { procedure: SHEET } = loadProcedure(WHOLE_SHEET, plans)
const WALL = '2026-01-05T08:00:00.000Z'
const ABOUT = { bench: { name: 'test', simulated: true }, seq: 1 }
const CARD = {
  about: '',
  title: 'AM too',
  source: 'test',
  date: '2026-01-01',
  modes: ['FM', 'AM'],
  decision: 'four answers',
} as const

const number = fc.oneof(
  fc.constantFrom(0, -1, 1, 1e-12, 27.205e6, 1e300, -1e300),
  fc.double({ noNaN: true, noDefaultInfinity: true }),
)
const usual = fc.constantFrom(2.4, 3.8, 1800, 27.205e6, 13.8, 1.2)
const limit = fc.option(number, { nil: null })
const target: fc.Arbitrary<Target> = fc.oneof(
  fc.constant({ kind: 'maximum' as const }),
  fc.record({ kind: fc.constant('around channel' as const), plusMinus: number, as: fc.constantFrom('Hz', 'ratio') }),
  fc
    .record({
      kind: fc.constant('band' as const),
      unit: fc.constant('W' as const),
      low: limit,
      high: limit,
      aim: limit,
    })
    .map((band) => (band.low === null && band.high === null ? { ...band, low: 1 } : band)),
)
/** What no door lets through, but an old record may hold. */
const odd = fc.record({
  target,
  aim: fc.option(fc.record({ centre: fc.oneof(number, fc.constant('channel' as const)), plusMinus: number }), {
    nil: null,
  }),
  rule: fc.option(fc.record({ low: limit, high: limit }), { nil: null }),
  channel: fc.option(fc.constantFrom(1, 20, 41, 99, 'middle' as const), { nil: null }),
})

/** The whole sheet with `odd` in each measured step that `which` hits. */
function spoilt(oddities: readonly (typeof odd extends fc.Arbitrary<infer T> ? T : never)[]): Procedure {
  const steps = SHEET.steps.map((row, at) => {
    const one = oddities[at % (oddities.length + 1)]
    if (row.kind !== 'measure' || !one) return row
    const peak = row.technique === 'peak' || row.technique === 'dip'
    const fits = (one.target.kind === 'maximum') === peak
    const stops = row.stops.map((stop) => ({ ...stop, channel: one.channel }))
    return { ...row, ...(fits ? { target: one.target } : {}), aim: one.aim, rule: one.rule, stops }
  })
  return { ...SHEET, steps }
}

const reading = fc
  .record({
    meter: fc.constantFrom(...METERS),
    value: fc.option(number, { nil: null }),
    state: fc.constantFrom('over', 'under', 'blank', 'no signal', 'stale', 'unreadable', 'not a number'),
    parts: fc.option(fc.tuple(number, number), { nil: undefined }),
    near: fc.boolean(),
  })
  .map(({ meter, value, state, parts, near }) => ({ kind: 'reading' as const, meter, value, state, parts, near }))

const asked: fc.Arbitrary<FromPage> = fc.oneof(
  ...(['ready', 'confirm', 'next', 'again', 'take back', 'mark', 'stop', 'go on', 'close job'] as const).map((kind) =>
    fc.constant({ kind, id: 'a' }),
  ),
  fc.constant({ kind: 'capture' as const, id: 'a', by: 'key' as const }),
  fc.constantFrom(...SHEET.steps.map(({ id }) => ({ kind: 'open step' as const, id: 'a', step: id }))),
  fc.constantFrom(
    ...SHEET.steps.map(({ id }) => ({ kind: 'leave out' as const, id: 'a', step: id, reason: 'not now' })),
  ),
)

const happening = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constant('work' as const),
      step: fc.nat(60),
      value: fc.oneof(usual, number),
      keyed: fc.constantFrom(true, true, true, false),
    }),
  },
  { weight: 4, arbitrary: reading },
  { weight: 3, arbitrary: asked.map((request) => ({ kind: 'request' as const, request })) },
  { weight: 1, arbitrary: fc.boolean().map((down) => ({ kind: 'key' as const, down })) },
  { weight: 1, arbitrary: fc.boolean().map((up) => ({ kind: 'link' as const, up })) },
  { weight: 1, arbitrary: fc.boolean().map((present) => ({ kind: 'page' as const, present })) },
  {
    weight: 1,
    arbitrary: fc
      .constantFrom('normal' as const, 'safe' as const)
      .map((resting) => ({ kind: 'acted' as const, resting })),
  },
)
type Happening = typeof happening extends fc.Arbitrary<infer T> ? T : never

/** Feeds what happens, obeys what is wanted, and draws a picture after each; the job that comes of it. */
function live(start: Job, happenings: readonly Happening[]): Job {
  let job = start
  let nowMs = 0
  let epoch = 0
  const feed = (event: JobEvent) => {
    const after = advance(job, event, WALL)
    job = after.job
    frameOf(job, ABOUT)
    for (const effect of after.effects) {
      if (effect.kind === 'raise epoch') {
        epoch += 1
        feed({ kind: 'changed', cause: effect.cause, epoch, atMs: nowMs })
      }
      if (effect.kind === 'arm') feed({ kind: 'armed', id: effect.id, ok: true, words: '', atMs: nowMs })
      if (effect.kind === 'keep') feed({ kind: 'kept', ok: true, words: '', atMs: nowMs })
    }
  }
  const supply = (amps: number) =>
    feed({
      kind: 'supply',
      state: {
        beganMs: nowMs,
        atMs: nowMs,
        volts: 13.8,
        amps,
        rawAmps: String(amps),
        output: 'on',
        regulation: 'voltage',
        tripped: false,
        setVolts: 13.8,
        limitAmps: 2.5,
        moving: false,
        resting: 'working',
      },
      atMs: nowMs,
    })
  const read = (one: Extract<Happening, { kind: 'reading' }>, times: number) => {
    for (let again = 0; again < times; again += 1) {
      nowMs += 300
      feed({ ...readingOf(one, epoch, nowMs), atMs: nowMs })
      feed({ kind: 'tick', atMs: nowMs })
    }
  }
  /** A step is opened and done, as far as it can be. */
  const work = ({ step, value, keyed }: Extract<Happening, { kind: 'work' }>) => {
    const line = job.plan.lines[step % job.plan.lines.length]
    for (const request of [
      { kind: 'open step', id: 'a', step: line?.id ?? '' },
      { kind: 'ready', id: 'a' },
      { kind: 'confirm', id: 'a' },
    ] as const)
      feed({ kind: 'request', request, atMs: nowMs })
    supply(keyed === (job.open.stop.state === 'transmit') ? 1.1 : 0.3)
    nowMs += 3000
    const meter = METERS.find(({ quantity }) => quantity === job.open.step.quantity)
    if (meter) read({ kind: 'reading', meter, value, state: 'over', parts: undefined, near: true }, 30)
    feed({ kind: 'request', request: { kind: 'capture', id: 'a', by: 'key' }, atMs: nowMs })
  }
  frameOf(job, ABOUT)
  // what would have to come first is out of the way
  for (const { id, pass, step } of job.plan.lines)
    if (pass === 'found' || step.firstKey)
      feed({ kind: 'request', request: { kind: 'leave out', id: 'a', step: id, reason: 'not now' }, atMs: 0 })
  for (const one of happenings) {
    nowMs += 700
    const atMs = nowMs
    if (one.kind === 'reading') read(one, 8)
    else if (one.kind === 'work') work(one)
    else if (one.kind === 'request') feed({ ...one, atMs })
    else if (one.kind === 'key') supply(one.down ? 1.1 : 0.3)
    else if (one.kind === 'link') feed({ kind: 'link', instrument: 'RF power meter', up: one.up, words: 'gone', atMs })
    else if (one.kind === 'page') feed({ kind: 'page', present: one.present, why: 'gone', atMs })
    else feed({ kind: 'acted', resting: one.resting, why: 'so', proved: true, atMs })
    feed({ kind: 'tick', atMs: nowMs })
  }
  return job
}

function readingOf(one: Extract<Happening, { kind: 'reading' }>, epoch: number, nowMs: number) {
  const { meter, value, state, parts, near } = one
  const said: Reading = {
    quantity: meter.quantity,
    instrument: meter.instrument,
    epoch,
    beganMs: nowMs - meter.latencyMs,
    arrivedMs: nowMs,
    raw: String(value),
    value: near && value !== null ? value * (1 - (nowMs % 7) * 1e-5) : value,
    state: value === null ? state : 'good',
    ...(parts && value !== null ? { parts } : {}),
  }
  return { kind: 'reading' as const, reading: said }
}

test('a picture of a job can always be drawn, whatever stands in its procedure and whatever happens', () => {
  let measured = 0
  fc.assert(
    fc.property(
      fc.array(odd, { maxLength: 3 }),
      fc.boolean(),
      fc.array(happening, { maxLength: 40 }),
      (oddities, am, happenings) => {
        const procedure = spoilt(oddities)
        const plan = planJob(procedure, plans, {
          bands: [],
          serial: 'T-1',
          ruleCard: am ? { ...CARD, modes: [...CARD.modes] } : null,
          meters: METERS,
          setsTone: true,
          supplyTrip: 'own' as const,
          simulated: true,
        })
        const job = live(startJob(plan, 0, WALL), happenings)
        measured += job.captured.length
        const remembered = job.captured.map((captured) => ({ kind: 'captured' as const, captured }))
        live(restoreJob(plan, remembered, 0, WALL), happenings.slice(0, 5))
      },
    ),
    { numRuns: 60 },
  )
  expect(measured).toBeGreaterThan(0) // usually some 20: steps are really done
})

test('so can one of just watching', () => {
  fc.assert(
    fc.property(target, fc.constantFrom(...METERS), fc.array(reading, { maxLength: 12 }), (to, facts, readings) => {
      const goal = goalOf(to, 27.205e6, { aim: null, rule: null })
      if (!goal) return
      let watch = startWatch(facts, goal, 'so', 0)
      for (const [at, one] of readings.entries()) {
        const { reading: said } = readingOf({ ...one, meter: facts }, 0, at * 300)
        watch = advanceWatch(watch, { kind: 'reading', reading: said }, at * 300)
        watchFrame(watch, ABOUT)
      }
    }),
  )
})

test('a reading that is no number any more at the set is over range, and counts for nothing', () => {
  const facts = { ...quietMeter('RF power'), pathLossDb: 30 }
  const goal = goalOf({ kind: 'band', unit: 'W', low: 3, high: 4, aim: null }, null, { aim: null, rule: null })
  if (!goal) throw new TypeError('no goal')
  const said = {
    ...readingOf(
      { kind: 'reading', meter: facts, value: 1.7e308, state: 'over', parts: undefined, near: false },
      0,
      300,
    ),
  }
  const watch = advanceWatch(startWatch(facts, goal, 'so', 0), said, 300)
  expect(worded(watchFrame(watch, ABOUT))).toMatchObject({
    state: 'over range',
    reading: { value: null, word: 'Over range' },
    peg: null,
  })
  expect(watch.live.current).toBeNull()
})
