import { describe, expect, test } from 'vitest'
import type { Job } from '../../../../src/core/job/state/job-types.ts'
import { channelJumped, jumpAwaitedFrom, seenForJump } from '../../../../src/core/job/steps/channel-jump.ts'
import { sentence } from '../../../../src/words/sentence/sentence.ts'
import { JobBench, METERS, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

/** A meter with 100 kohm before its 10 Mohm shows 1 % less. */
const shown = (volts: number) => volts / 1.01

/** The control voltage of channel 1 was just captured at 1.60 V, and the card of channel 40 is shown. */
function atChannel40(): JobBench {
  const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
  for (const { id, pass } of bench.frame().steps)
    if (pass === 'found') bench.ask({ kind: 'leave out', step: id, reason: 'for the test' })
  bench.begin('control-low')
  bench.shows.set('DC voltage', shown(1.6))
  while (bench.frame().step?.id !== 'control-high') bench.run(0.1)
  return bench
}

/** The card still stands there: nothing was begun, and so nothing captured. */
function waits(bench: JobBench): void {
  expect(bench.frame()).toMatchObject({ state: 'read step', step: { id: 'control-high' } })
  expect(bench.job.captured.some(({ step }) => step === 'control-high')).toBe(false)
}

describe('the channel is changed in receive, both hands busy', () => {
  test('the jump of the control voltage is the "ready": read and captured without a touch', () => {
    const bench = atChannel40()
    bench.run(5)
    expect(bench.frame().state).toBe('read step')
    bench.shows.set('DC voltage', shown(3.39))
    bench.run(1.5)
    expect(bench.frame().state).not.toBe('read step')
    expect(bench.job.events.map(({ words }) => sentence(words))).toContainEqual(
      expect.stringMatching(/^The control voltage jumped to 3\.39 V/),
    )
    bench.run(15)
    expect(bench.job.captured.find(({ step }) => step === 'control-high')).toMatchObject({
      verdict: 'inside',
      by: 'dwell',
    })
  })

  test.each([
    ['a slipped prod', () => 0.02],
    ['a common that came off', (at: number) => shown([0.02, 0.14, 0.3][at % 3] ?? 0)],
    ['a voltage that runs', (at: number) => shown(2 + 0.06 * at)],
    ['no more than the next channel', () => shown(1.64)],
  ])('%s is no change of channel', (_, volts) => {
    const bench = atChannel40()
    for (let at = 0; at < 20; at++) {
      bench.shows.set('DC voltage', volts(at))
      bench.run(0.25)
    }
    waits(bench)
  })

  test('a card with cautions that nobody has read waits for a person', () => {
    const bench = atChannel40()
    bench.job = { ...bench.job, cautionsSeen: [] }
    bench.shows.set('DC voltage', shown(3.39))
    bench.run(5)
    waits(bench)
  })

  test('nor does one jump tell of another test point', () => {
    const bench = atChannel40()
    const lines = bench.job.plan.lines.map((line) =>
      line.id === 'control-low'
        ? { ...line, step: { ...line.step, where: { prod: { is: 'board' as const, name: 'T2', words: '' } } } }
        : line,
    )
    bench.job = { ...bench.job, plan: { ...bench.job.plan, lines } }
    bench.shows.set('DC voltage', shown(3.39))
    bench.run(5)
    waits(bench)
  })

  test('nor is anything read while the key is down or the supply is off', () => {
    const keyed = atChannel40()
    keyed.key(true)
    keyed.shows.set('DC voltage', shown(3.39))
    keyed.run(5)
    waits(keyed)
    const off = atChannel40()
    off.output = 'off'
    off.shows.set('DC voltage', shown(3.39))
    off.run(5)
    waits(off)
  })
})

describe('a jump is waited for', () => {
  const { job } = atChannel40()
  const last = job.taken.at(-1)
  if (!last) throw new TypeError('nothing was captured')
  const taken = (changes: Partial<typeof last>): Partial<Job> => ({ taken: [{ ...last, ...changes }] })
  const open = (changes: Partial<Job['open']>): Partial<Job> => ({ open: { ...job.open, ...changes } })

  test('from where the voltage stood at the last capture', () => {
    expect(jumpAwaitedFrom(job)).toBe(last.value)
    expect(last.value).toBeCloseTo(1.6, 2)
  })

  test.each<[string, Partial<Job>]>([
    ['the card is not shown', { phase: { name: 'work' } }],
    ['nothing was captured yet', { taken: [] }],
    ['the step has no channel', open({ channel: null })],
    ['it reads another quantity', open({ step: { ...job.open.step, quantity: 'RF power' } })],
    ['it is keyed', open({ stop: { ...job.open.stop, state: 'transmit' } })],
    ['what was captured was keyed', taken({ state: 'transmit' })],
    ['what was captured was another quantity', taken({ quantity: 'RF power' })],
    ['what was captured had no channel', taken({ channel: null })],
    ['it is the same channel', taken({ channel: 40 })],
    ['the prod was elsewhere', taken({ step: 'plug-volts' })],
    ['nobody knows where the prod was', taken({ step: 'no such' })],
    ['the supply is to be raised', open({ step: { ...job.open.step, supplyVolts: 15.6 } })],
    ['the supply is not read', { supply: null }],
    ['the key is down', { key: { ...job.key, keyed: true } }],
    ['something has to be done first', open({ actions: ['the lid off'] })],
  ])('not where %s', (_, changes) => {
    expect(jumpAwaitedFrom({ ...job, ...changes })).toBeNull()
    expect(seenForJump({ ...job, ...changes }, 3.4)).toEqual([])
  })

  test('the newest three readings are looked at, and none without a number', () => {
    const seen = (jumpSeen: readonly number[]) => ({ ...job, ...open({ jumpSeen }) })
    expect(seenForJump(seen([1, 2, 3]), 4)).toEqual([2, 3, 4])
    expect(seenForJump(seen([1]), 4)).toEqual([1, 4])
    expect(seenForJump(seen([1, 2]), null)).toEqual([])
  })

  test.each([
    [[1.71, 1.71, 1.71], true],
    [[1.695, 1.71, 1.71], false],
    [[1.49, 1.49, 1.49], true],
    [[1.505, 1.49, 1.49], false],
    [[3.4, 3.429, 3.4], true],
    [[3.4, 3.431, 3.4], false],
    [[3.4, 3.4], false],
    [[0.36, 0.36, 0.36], true],
    [[0.34, 0.36, 0.36], false],
    [[1.6, 1.6, 1.6], false],
  ])('from 1.60 V to %j V: %s', (jumpSeen, jumped) => {
    const from = { ...job, ...taken({ value: 1.6 }), ...open({ jumpSeen }) }
    expect(channelJumped({ ...from, open: { ...from.open, jumpSeen } })).toBe(jumped)
  })
})
