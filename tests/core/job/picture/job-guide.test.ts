import { describe, expect, test } from 'vitest'
import { guideOf, offersIn } from '../../../../src/core/job/picture/job-guide.ts'
import type { Job, Phase } from '../../../../src/core/job/state/job-types.ts'
import type { Reading } from '../../../../src/schema/kept/reading.ts'
import { sentence } from '../../../../src/words/sentence/sentence.ts'
import { JobBench, METERS, quietMeter, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

const said = (job: Job) => {
  const { state, hands, way, drop } = guideOf(job)
  return { state, hands, way, drop }
}
const words = (job: Job) => JSON.stringify(sentence(guideOf(job).words))
const because = (job: Job) => JSON.stringify(sentence(guideOf(job).because))

/** The short sheet, with one step opened and begun. */
function at(step: string, meters = METERS): JobBench {
  const bench = new JobBench(meters)
  bench.begin(step)
  return bench
}
const inPhase = (job: Job, phase: Phase): Job => ({ ...job, phase })
const keyed = (job: Job): Job => ({ ...job, key: { ...job.key, keyed: true } })

describe('where the person stands, by the phase of the job', () => {
  const { job } = at('control-voltage')

  test.each<[Phase, object]>([
    [{ name: 'read' }, { state: 'read step', hands: '' }],
    [
      { name: 'action', words: 'Load on' },
      { state: 'action', hands: '' },
    ],
    [{ name: 'settings' }, { state: 'settings', hands: '' }],
    [
      { name: 'keeping', taken: [] },
      { state: 'steady', hands: 'off', drop: 1 },
    ],
    [{ name: 'key up first' }, { state: 'release key' }],
    [{ name: 'arming', id: 1, supplyChanges: true }, { state: 'supply moving' }],
    [{ name: 'done', sinceMs: 0 }, { state: 'captured' }],
    [{ name: 'warming' }, { state: 'warming', hands: 'off' }],
    [
      { name: 'link lost', instrument: 'volts', words: 'x' },
      { state: 'link lost', hands: 'off' },
    ],
    [{ name: 'paused', words: 'x' }, { state: 'paused' }],
    [{ name: 'finished' }, { state: 'finished' }],
  ])('%j: %j', (phase, expected) => {
    expect(said(inPhase(job, phase))).toMatchObject(expected)
  })

  test('with the key down it has to come up first', () => {
    for (const phase of [{ name: 'done', sinceMs: 0 }, { name: 'warming' }] as const)
      expect(said(keyed(inPhase(job, phase)))).toMatchObject({ state: 'release key' })
  })

  test('the reason is shown where there is one', () => {
    expect(because(inPhase(job, { name: 'paused', words: 'REASON' }))).toContain('REASON')
    expect(because(inPhase(job, { name: 'link lost', instrument: 'volts', words: 'REASON' }))).toContain('REASON')
    expect(words(inPhase(job, { name: 'action', words: 'REASON' }))).toContain('REASON')
  })

  test('a step that cannot be done says so before it is begun', () => {
    const bare = new JobBench([])
    bare.ask({ kind: 'open step', step: 'control-voltage' })
    expect(because(bare.job)).toContain('DC voltage')
    expect(words(bare.job)).not.toBe(words(inPhase(job, { name: 'read' })))
    expect(because(inPhase(job, { name: 'read' }))).toBe('""')
  })

  test('what to take in hand: a tool, the key alone, or nothing', () => {
    const read = (step: string) => {
      const bench = new JobBench()
      bench.ask({ kind: 'open step', step })
      return words(bench.job)
    }
    expect(read('control-voltage')).toContain('VK')
    expect(read('power')).toContain('PW')
    const sheet = new JobBench(METERS, { procedure: WHOLE_SHEET })
    sheet.ask({ kind: 'open step', step: 'control-low' })
    expect(new Set([read('power-normal'), words(sheet.job), read('power')]).size).toBe(3)
    expect(read('plug-volts')).toBe(read('power-normal'))
  })

  test('the voltage that the supply goes to is named', () => {
    const { job: raised } = at('power')
    expect(words(inPhase(raised, { name: 'arming', id: 1, supplyChanges: true }))).toContain('15.60')
    expect(words(inPhase(job, { name: 'arming', id: 1, supplyChanges: true }))).toContain('13.80')
  })
})

describe('stopped', () => {
  const { job } = at('control-voltage')
  const stopped = (output: 'on' | 'off' | 'unknown', sinceMs: number) => {
    const supply = job.supply && { ...job.supply, output }
    const log = [{ atMs: 10_000 - sinceMs, step: 'control-voltage', state: 'stopped' as const }]
    return words({ ...inPhase(job, { name: 'stopped', words: 'x' }), supply, nowMs: 10_000, log })
  }

  test('"off" is said of an output that reads off; for two seconds it is being switched off; then a hand is asked for', () => {
    const [off, soon, hand] = [stopped('off', 5000), stopped('on', 1999), stopped('on', 2000)]
    expect(new Set([off, soon, hand]).size).toBe(3)
    expect(stopped('off', 100)).toBe(off)
    expect(stopped('unknown', 1999)).toBe(soon)
    expect(stopped('unknown', 2000)).toBe(hand)
    const nobody = { ...inPhase(job, { name: 'stopped' as const, words: 'x' }), supply: null, log: [], nowMs: 10_000 }
    expect(words(nobody)).toBe(soon)
  })
})

describe('the turn of the key', () => {
  test('the set follows its supply for 2 s, then it is keyed; the tool is named where one is', () => {
    const bench = at('power')
    expect(said(bench.job)).toMatchObject({ state: 'hold-off', hands: 'off' })
    bench.run(1.9)
    expect(said(bench.job).state).toBe('hold-off')
    bench.run(0.2)
    expect(said(bench.job).state).toBe('key now')
    expect(words(bench.job)).toContain('PW')
    const check = at('power-normal')
    check.run(2.1)
    expect(words(check.job)).not.toContain('PW')
  })

  test('time is up at the end of the key-down; then the set rests', () => {
    const bench = at('drive')
    bench.run(2.1)
    bench.key(true)
    bench.shows.set('RF power', 5).set('frequency', 27_205_000)
    bench.run(14.8)
    expect(said(bench.job).state).not.toBe('release key')
    bench.run(0.3)
    expect(said(bench.job).state).toBe('release key')
    bench.key(false)
    bench.run(0.1)
    expect(said(bench.job)).toMatchObject({ state: 'rest', hands: 'off' })
  })

  test('a channel that was seen to be another is named before the key', () => {
    const bench = at('power-normal')
    bench.run(2.1)
    const wrong = { ...bench.job, open: { ...bench.job.open, wrongSeen: 'REASON' } }
    expect(said(wrong).state).toBe('key now')
    expect(because(wrong)).toContain('REASON')
    expect(words(wrong)).toContain('20')
    expect(words(wrong)).not.toBe(words(bench.job))
  })

  test('read in receive it has to come up; asked up between two adjusters too', () => {
    expect(said(keyed(at('control-voltage').job)).state).toBe('release key')
    const bench = at('drive')
    bench.run(2.1)
    bench.key(true)
    const release = { ...bench.job, open: { ...bench.job.open, release: 'REASON' } }
    expect(said(release)).toMatchObject({ state: 'release key', hands: 'off' })
    expect(words(release)).toContain('REASON')
  })
})

describe('while it is measured', () => {
  test('a reading that has not come for 2 s is old, from the end of the hold-off on', () => {
    const bench = at('control-voltage')
    bench.run(4)
    expect(said(bench.job).state).not.toBe('old')
    bench.run(0.7)
    expect(said(bench.job)).toMatchObject({ state: 'old', hands: 'off' })
    bench.shows.set('DC voltage', 2)
    bench.run(1)
    expect(said(bench.job)).toMatchObject({ state: 'near', way: 'up', hands: 'on' })
  })

  test('keyed without power, on a wrong channel, and with a prod that is off: no turning helps', () => {
    const silent = at('power')
    silent.run(2.1)
    silent.shows.set('RF power', 0.01)
    silent.key(true)
    silent.run(2)
    expect(said(silent.job)).toMatchObject({ state: 'hold-off', hands: 'off' })
    expect(because(silent.job)).not.toBe('""')
    const wrong = at('power')
    wrong.run(2.1)
    wrong.shows.set('RF power', 3).set('frequency', 27_185_000)
    wrong.key(true)
    wrong.run(2.5)
    expect(said(wrong.job)).toMatchObject({ state: 'wrong channel', hands: 'off' })
    const off = at('control-voltage')
    off.shows.set('DC voltage', 0.001)
    off.run(4)
    expect(said(off.job)).toMatchObject({ state: 'settling', hands: 'off' })
  })

  test('the largest is looked for: it drops by nine tenths in the time that the step says', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    bench.ask({ kind: 'leave out', step: 'first-key', reason: 'not for this test' })
    bench.begin('voice')
    bench.shows.set('RF power', 3.7).set('frequency', 27_205_000).set('FM deviation', 1500)
    bench.run(3)
    bench.key(true)
    bench.run(2)
    const [first] = bench.job.open.measured[0]?.live.kept ?? []
    if (!first) throw new TypeError('nothing counts')
    const share = (bench.job.nowMs - first.beganMs) / 1000 / bench.job.open.step.holdS
    expect(said(bench.job)).toMatchObject({ state: 'highest', hands: 'off' })
    expect(said(bench.job).drop).toBeCloseTo(0.9 * share, 6)
    expect(said({ ...bench.job, nowMs: bench.job.nowMs + 1 }).drop).toBeGreaterThan(said(bench.job).drop)
  })

  test('a meter that a person reads: typed with the key up, and the way to turn once one value was far', () => {
    const meters = METERS.map((one) =>
      one.quantity === 'DC voltage' ? quietMeter('DC voltage', { typed: true }) : one,
    )
    const bench = at('control-voltage', meters)
    bench.run(1)
    expect(said(bench.job)).toMatchObject({ state: 'type in', way: '' })
    const typed = (volts: number) => {
      const { open } = bench.job
      const [main] = open.measured
      if (!main) throw new TypeError('nothing is measured')
      const times = { epoch: 1, beganMs: 0, arrivedMs: 0 }
      const reading: Reading = {
        quantity: 'DC voltage',
        instrument: 'x',
        ...times,
        raw: '',
        value: volts,
        state: 'good',
      }
      const live = { ...main.live, last: { reading, value: volts, parts: [], chain: [], counts: true } }
      return said({ ...bench.job, open: { ...open, measured: [{ ...main, live }] } })
    }
    expect(typed(2.7)).toMatchObject({ state: 'type in', way: 'down' })
    expect(typed(2.0)).toMatchObject({ state: 'type in', way: 'up' })
  })
})

describe('what is offered', () => {
  test.each([
    ['read step', 'ready'],
    ['action', 'confirm'],
    ['paused', 'go on'],
    ['stopped', 'go on'],
    ['settings', 'note setting'],
    ['type in', 'type in'],
    ['captured', 'next'],
    ['question', 'keep'],
    ['settling', 'capture'],
    ['steady', 'capture'],
    ['at best', 'capture'],
    ['finished', 'close job'],
  ] as const)('in "%s": %s', (state, offer) => {
    expect(offersIn(state)).toContain(offer)
  })

  test('STOP everywhere but where everything is off, and nothing is captured that does not count', () => {
    for (const state of ['read step', 'key now', 'rest', 'hold-off', 'climb', 'old', 'wrong channel'] as const)
      expect(offersIn(state)).toContain('stop')
    for (const state of ['stopped', 'finished'] as const) expect(offersIn(state)).not.toContain('stop')
    for (const state of ['hold-off', 'old', 'wrong channel', 'key now', 'over range'] as const)
      expect(offersIn(state)).not.toContain('capture')
  })
})
