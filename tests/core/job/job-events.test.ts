import { describe, expect, test } from 'vitest'
import type { Reading } from '../../../src/schema/kept/reading.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { JobBench, METERS, WHOLE_SHEET } from '../../kit/job/job-bench.ts'

const told = (bench: JobBench) => bench.job.events.map(({ what }) => what)
const epochs = (bench: JobBench) => bench.did('raise epoch').map((effect) => 'cause' in effect && effect.cause)

/** Step "power-normal" of the short sheet, armed; what it reads is there. */
function powerNormal(): JobBench {
  const bench = new JobBench()
  bench.begin('power-normal')
  bench.shows.set('RF power', 3.7).set('frequency', 27_205_000)
  return bench
}

describe('a job begins', () => {
  test('at the first line that is not left out, with nothing switched on', () => {
    const bench = new JobBench()
    expect(bench.job.at).toBe(0)
    expect(bench.job.armed).toBeNull()
    expect(bench.effects.filter(({ kind }) => kind !== 'watch')).toEqual([])
    const none = new JobBench([])
    expect(none.job.at).toBe(none.job.plan.lines.findIndex(({ leftOut }) => leftOut === null))
  })

  test('what comes from before what is known does not turn the clock back', () => {
    const bench = new JobBench()
    bench.run(1)
    bench.feed({ kind: 'tick', atMs: 200 })
    expect(bench.job.nowMs).toBe(1000)
  })
})

describe('the key', () => {
  test('each change of it begins a new epoch, once', () => {
    const bench = powerNormal()
    const before = epochs(bench).length
    bench.key(true)
    bench.run(1)
    bench.key(false)
    bench.run(1)
    expect(epochs(bench).slice(before)).toEqual(['key', 'key'])
  })

  test('a supply that does not say its current leaves the key as it was', () => {
    const bench = powerNormal()
    bench.key(true)
    bench.feed({ kind: 'supply', state: { ...bench.supplyState(), amps: null }, atMs: bench.nowMs })
    expect(bench.job.key.keyed).toBe(true)
    bench.key(false)
    bench.feed({ kind: 'supply', state: { ...bench.supplyState(), amps: null }, atMs: bench.nowMs })
    expect(bench.job.key.keyed).toBe(false)
  })

  test('comes up from nine tenths of the current at which it goes down: 0.55 and 0.495 A', () => {
    const bench = powerNormal()
    for (const [amps, keyed] of [
      [0.549, false],
      [0.55, true],
      [0.496, true],
      [0.494, false],
    ] as const) {
      bench.amps = amps
      bench.feed({ kind: 'supply', state: bench.supplyState(), atMs: bench.nowMs })
      expect(bench.job.key.keyed).toBe(keyed)
    }
  })

  test('is warned of at 70 and 90 %, asked up at 100 %, off at 120 % of what the step allows; anew at each key-down', () => {
    const bench = new JobBench()
    bench.begin('drive')
    bench.run(2.1)
    bench.key(true)
    const at = new Map<string, number>()
    const fromMs = bench.nowMs
    for (let steps = 0; steps < 400 && bench.job.phase.name !== 'stopped'; steps++) {
      bench.run(0.05)
      for (const what of told(bench)) if (!at.has(what)) at.set(what, (bench.nowMs - fromMs) / 1000)
    }
    for (const [what, seconds] of [
      ['key down 70', 10.5],
      ['key down 90', 13.5],
      ['release key', 15],
      ['stopped', 18],
    ] as const)
      expect(Math.abs((at.get(what) ?? 0) - seconds)).toBeLessThan(0.11)
    expect(told(bench).filter((what) => what === 'key down 70')).toHaveLength(1)
    expect(bench.output).toBe('off')
    expect(bench.did('tone off').length).toBeGreaterThan(0)
  })

  test('a short key-down warns of nothing, and the next one begins from nothing', () => {
    const bench = new JobBench()
    bench.begin('drive')
    bench.run(2.1)
    bench.key(true)
    bench.run(11)
    bench.key(false)
    bench.run(60)
    bench.key(true)
    bench.run(11)
    expect(told(bench).filter((what) => what === 'key down 70')).toHaveLength(2)
    expect(told(bench)).not.toContain('key down 90')
  })
})

describe('an order to the supply', () => {
  test('counts only by its own number, and only while it is waited for', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    const { phase } = bench.job
    bench.feed({ kind: 'armed', id: 1, ok: false, words: 'late', atMs: bench.nowMs })
    expect(bench.job.phase).toEqual(phase)
  })

  test('that fails pauses the step at normal, with its words', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.job = { ...bench.job, phase: { name: 'arming', id: 77, supplyChanges: true } }
    bench.feed({ kind: 'armed', id: 76, ok: false, words: 'not mine', atMs: bench.nowMs })
    expect(bench.job.phase.name).toBe('arming')
    bench.feed({ kind: 'armed', id: 77, ok: false, words: 'the supply refused', atMs: bench.nowMs })
    expect(bench.job.phase).toEqual({ name: 'paused', words: 'the supply refused' })
    expect(bench.job.armed).toBeNull()
  })

  test('that is done begins a new epoch, and one of the supply where it was moved', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    expect(epochs(bench).slice(-2)).toEqual(['channel', 'supply'])
    bench.begin('power-normal')
    expect(epochs(bench).at(-1)).toBe('channel')
  })
})

describe('a link', () => {
  const link = (bench: JobBench, quantity: string, up: boolean) =>
    bench.feed({ kind: 'link', instrument: `${quantity} meter`, up, words: 'no reply', atMs: bench.nowMs })

  test('of another instrument that is lost changes nothing of this step', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    const { phase, armed } = bench.job
    link(bench, 'FM deviation', false)
    expect(bench.job.phase).toEqual(phase)
    expect(bench.job.armed).toEqual(armed)
    expect(bench.job.down).toEqual([{ instrument: 'FM deviation meter', words: 'no reply' }])
    link(bench, 'FM deviation', true)
    expect(bench.job.down).toEqual([])
    expect(told(bench)).not.toContain('link back')
  })

  test('of this step: lost at normal, and on when it is back, told each time', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    link(bench, 'DC voltage', false)
    expect(bench.job.phase).toMatchObject({ name: 'link lost', instrument: 'DC voltage meter' })
    expect(bench.job.armed).toBeNull()
    link(bench, 'DC voltage', true)
    expect(bench.job.phase.name).toBe('work')
    expect(told(bench).filter((what) => what.startsWith('link'))).toEqual(['link lost', 'link back'])
  })

  test('lost before the step is begun: told, and begun it waits for it', () => {
    const bench = new JobBench()
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    link(bench, 'DC voltage', false)
    expect(bench.job.phase.name).toBe('read')
    expect(told(bench)).toContain('link lost')
    bench.ask({ kind: 'ready' })
    expect(bench.job.phase.name).toBe('link lost')
  })

  test('of this step that is lost while the supply is on its way ends that as well', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.job = { ...bench.job, phase: { name: 'arming', id: 77, supplyChanges: true } }
    link(bench, 'DC voltage', false)
    expect(bench.job.phase.name).toBe('link lost')
    expect(bench.job.armed).toBeNull()
  })

  test('that says it is up while nothing was lost switches nothing on', () => {
    const bench = new JobBench()
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    link(bench, 'DC voltage', true)
    expect(bench.job.phase.name).toBe('read')
    expect(bench.did('arm')).toEqual([])
    bench.ask({ kind: 'ready' })
    link(bench, 'DC voltage', true)
    expect(bench.did('arm')).toHaveLength(1)
    expect(told(bench)).not.toContain('link back')
  })

  test('two lost of one step: on only when both are back', () => {
    const bench = powerNormal()
    link(bench, 'RF power', false)
    link(bench, 'DC current', false)
    link(bench, 'RF power', true)
    expect(bench.job.phase.name).toBe('link lost')
    link(bench, 'DC current', true)
    expect(bench.job.phase.name).toBe('work')
  })
})

describe('a reply that was missed', () => {
  const miss = (bench: JobBench, quantity: string) =>
    bench.feed({ kind: 'missed', instrument: `${quantity} meter`, words: 'late by 2 s', atMs: bench.nowMs })
  const notes = (bench: JobBench) =>
    bench.job.events.filter(({ words }) => sentence(words).includes('late by 2 s')).length

  test('is told once a minute, and kept each time', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    miss(bench, 'DC voltage')
    bench.run(59)
    miss(bench, 'DC voltage')
    expect(notes(bench)).toBe(1)
    expect(bench.job.missed).toMatchObject([{ atMs: 59_000, toldMs: 0 }])
    bench.run(1.1)
    miss(bench, 'DC voltage')
    expect(notes(bench)).toBe(2)
    expect(bench.job.missed).toHaveLength(1)
  })

  test('of an instrument that this step does not use is kept, not told', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    miss(bench, 'FM deviation')
    expect(notes(bench)).toBe(0)
    expect(bench.job.missed).toHaveLength(1)
  })
})

describe('a reading counts', () => {
  /** How many readings have counted after one more. */
  function counted(bench: JobBench, changes: Partial<Reading>): number {
    const reading: Reading = {
      ...{
        quantity: 'RF power',
        instrument: 'RF power meter',
        epoch: bench.epoch,
        raw: 'x',
        value: 3.7,
        state: 'good',
      },
      ...{ beganMs: bench.nowMs, arrivedMs: bench.nowMs + 50 },
      ...changes,
    }
    const before = bench.job.open.measured[0]?.live.kept.length ?? 0
    bench.feed({ kind: 'reading', reading, atMs: bench.nowMs + 50 })
    return (bench.job.open.measured[0]?.live.kept.length ?? 0) - before
  }

  function keyed(): JobBench {
    const bench = powerNormal()
    bench.run(2.1)
    bench.key(true)
    bench.run(1.5)
    return bench
  }

  test('in its epoch, begun after the hold-off, with the key as the step wants it', () => {
    expect(counted(keyed(), {})).toBe(1)
    const bench = keyed()
    expect(counted(bench, { epoch: bench.epoch - 1 })).toBe(0)
    expect(counted(keyed(), { beganMs: 2600 - 1 })).toBe(0)
    expect(counted(keyed(), { beganMs: 2600 })).toBe(1)
    expect(counted(keyed(), { quantity: 'DC voltage' })).toBe(0)
    const up = keyed()
    up.key(false)
    up.run(1)
    expect(counted(up, {})).toBe(0)
  })

  test('not on another channel, as long as the counter says so', () => {
    const bench = keyed()
    bench.shows.set('frequency', 27_185_000)
    bench.run(2.1)
    expect(counted(bench, {})).toBe(0)
  })

  test('not while the step waits for anything else', () => {
    const bench = keyed()
    bench.job = { ...bench.job, phase: { name: 'paused', words: 'x' } }
    expect(counted(bench, {})).toBe(0)
  })
})

describe('the keeper acted by itself', () => {
  const act = (bench: JobBench, resting: 'normal' | 'safe', proved = true) =>
    bench.feed({ kind: 'acted', resting, why: 'it said so', proved, atMs: bench.nowMs })

  test('normal pauses the step, safe stops it, a job that is finished stays so; nothing is armed any more', () => {
    for (const [resting, phase] of [
      ['normal', 'paused'],
      ['safe', 'stopped'],
    ] as const) {
      const bench = new JobBench()
      bench.begin('control-voltage')
      act(bench, resting)
      expect(bench.job.phase).toMatchObject({ name: phase, words: 'it said so' })
      expect(bench.job.armed).toBeNull()
    }
    const finished = new JobBench(METERS, { procedure: WHOLE_SHEET })
    finished.ask({ kind: 'close job' })
    act(finished, 'safe')
    expect(finished.job.phase.name).toBe('finished')
  })
})

test('meters are asked only while their readings can count', () => {
  const bench = powerNormal()
  bench.run(2.1)
  expect(bench.job.watched).toEqual([])
  bench.key(true)
  expect(bench.job.watched).toEqual(['RF power', 'DC current', 'frequency'])
  bench.key(false)
  expect(bench.job.watched).toEqual([])
  expect(bench.did('watch').slice(-2)).toMatchObject([
    { quantities: ['RF power', 'DC current', 'frequency'] },
    { quantities: [] },
  ])
})
