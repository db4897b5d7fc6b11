import { describe, expect, test } from 'vitest'
import { stepEnd } from '../../../../src/core/reading/capture.ts'
import { JobBench, METERS, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

/** The control voltage of the short sheet, settled inside its aim window or not. */
function controlVoltage(volts: number): JobBench {
  const bench = new JobBench()
  bench.begin('control-voltage')
  bench.shows.set('DC voltage', volts / 1.01)
  return bench
}

/** Time until something is so, by 50 ms; NaN where it is not within a minute. */
function until(bench: JobBench, is: () => boolean): number {
  const fromMs = bench.nowMs
  for (let at = 0; at < 1200; at++) {
    if (is()) return bench.nowMs - fromMs
    bench.run(0.05)
  }
  return Number.NaN
}

const state = (bench: JobBench) => bench.frame().state

describe('what was captured is shown', () => {
  test('for 1.2 s, and then the next step opens by itself', () => {
    const bench = controlVoltage(2.4)
    until(bench, () => bench.job.captured.length > 0)
    expect(bench.job.phase.name).toBe('done')
    const { at } = bench.job
    expect(until(bench, () => bench.job.at !== at)).toBeCloseTo(1200, -2)
    expect(bench.job.phase.name).toBe('read')
  })

  test('with the key down, until it is up', () => {
    const bench = new JobBench()
    bench.begin('power-normal')
    bench.shows.set('RF power', 3.7).set('frequency', 27_205_000)
    bench.run(2.1)
    bench.key(true)
    until(bench, () => bench.job.captured.length > 1)
    const { at } = bench.job
    bench.run(3)
    expect(bench.job.at).toBe(at)
    bench.key(false)
    bench.run(0.1)
    expect(bench.job.at).not.toBe(at)
  })

  test('out of band, until somebody says next', () => {
    const bench = controlVoltage(2.7)
    bench.run(15)
    bench.ask({ kind: 'capture', by: 'key' })
    const { at } = bench.job
    bench.run(10)
    expect(bench.job.at).toBe(at)
    expect(bench.ask({ kind: 'next' }).ok).toBe(true)
    expect(bench.job.at).toBe(at + 1)
  })

  test('by dwell 1.5 s after it came into the aim window and is settled, not before', () => {
    const bench = controlVoltage(2.5)
    bench.run(10)
    expect(bench.job.captured).toEqual([])
    bench.shows.set('DC voltage', 2.4 / 1.01)
    bench.run(1.3)
    expect(bench.job.captured).toEqual([])
    bench.run(6)
    expect(bench.job.captured).toHaveLength(1)
  })
})

describe('which step comes next', () => {
  const ids = (bench: JobBench) => bench.job.plan.lines.map(({ id }) => id)

  test('the next that is to do, then those before it; at the end it is finished, at normal', () => {
    const bench = new JobBench()
    const all = ids(bench)
    bench.ask({ kind: 'open step', step: all[3] ?? '' })
    const seen: string[] = []
    for (let left = 0; left < all.length; left++) {
      const here = all[bench.job.at] ?? ''
      seen.push(here)
      bench.ask({ kind: 'leave out', step: here, reason: 'not for this test' })
    }
    expect(seen).toEqual([...all.slice(3), ...all.slice(0, 3)])
    expect(bench.job.phase.name).toBe('finished')
    expect(bench.volts === 13.8 || bench.output === 'off').toBe(true)
  })

  test('what is read as left comes last, though it was passed', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    const all = ids(bench)
    const left = bench.job.plan.lines.flatMap(({ id, pass }) => (pass === 'left' ? [id] : []))
    expect(left.length).toBeGreaterThan(2)
    bench.ask({ kind: 'leave out', step: 'first-key', reason: 'not for this test' })
    const seen: string[] = []
    for (let at = 0; at < all.length && bench.job.phase.name !== 'finished'; at++) {
      const here = all[bench.job.at] ?? ''
      seen.push(here)
      bench.ask({ kind: 'leave out', step: here, reason: 'not for this test' })
    }
    expect(seen.slice(-left.length)).toEqual(left)
  })
})

describe('arming the supply', () => {
  const arms = (bench: JobBench) => bench.did('arm').flatMap((effect) => (effect.kind === 'arm' ? [effect] : []))

  test('in receive with the limit of receive, keyed with that of transmit; a step may have its own', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.begin('drive')
    expect(arms(bench).map(({ amps, volts }) => [amps, volts])).toEqual([
      [0.8, 13.8],
      [2.5, 15.6],
    ])
    const own = new JobBench(METERS, { procedure: WHOLE_SHEET })
    own.begin('receive-current')
    expect(arms(own)).toMatchObject([{ amps: 0.8, volts: 12, start: true }])
  })

  test('each order has a number of its own; it says whether the output was off, and whether the tone alone is new', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.begin('deviation')
    const [first, second] = arms(bench)
    expect(first).toMatchObject({ start: true, toneOnly: false, tone: null })
    expect(second).toMatchObject({ start: false })
    expect(second?.tone).not.toBeNull()
    expect(second?.id).toBeGreaterThan(first?.id ?? 0)
    expect(bench.did('tone off')).toHaveLength(0)
    bench.begin('control-voltage')
    expect(bench.did('tone off')).toHaveLength(1)
  })

  test('nobody at the page: the supply is neither switched on nor raised, and goes on when somebody says so', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.feed({ kind: 'page', present: false, why: 'the page was closed', atMs: bench.nowMs })
    const before = arms(bench).length
    bench.ask({ kind: 'open step', step: 'drive' })
    bench.ask({ kind: 'ready' })
    bench.ask({ kind: 'confirm' })
    expect(arms(bench)).toHaveLength(before)
    bench.feed({ kind: 'page', present: true, why: '', atMs: bench.nowMs })
    expect(arms(bench)).toHaveLength(before)
  })

  test('a step of the same voltage is not raised: nobody needs to be there', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.feed({ kind: 'page', present: false, why: 'the page was closed', atMs: bench.nowMs })
    bench.ask({ kind: 'open step', step: 'power-normal' })
    bench.ask({ kind: 'ready' })
    expect(bench.job.phase.name).not.toBe('paused')
  })

  test('a difference of 5 mV or less is no raise, 6 mV is one: the key has to be up', () => {
    const raisedBy = (volts: number) => {
      const bench = new JobBench()
      bench.begin('power-normal')
      bench.key(true)
      bench.job = { ...bench.job, armed: { volts: 13.8 - volts, tone: false } }
      bench.ask({ kind: 'open step', step: 'power-normal' })
      bench.job = { ...bench.job, armed: { volts: 13.8 - volts, tone: false } }
      bench.ask({ kind: 'ready' })
      return bench.job.phase.name
    }
    expect(raisedBy(0.0049)).not.toBe('key up first')
    expect(raisedBy(0.006)).toBe('key up first')
    expect(raisedBy(-0.2)).not.toBe('key up first')
  })
})

describe('the largest seen', () => {
  function voice(): JobBench {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    bench.ask({ kind: 'leave out', step: 'first-key', reason: 'not for this test' })
    bench.begin('voice')
    bench.shows.set('RF power', 3.7).set('frequency', 27_205_000).set('FM deviation', 1500)
    bench.run(3)
    bench.key(true)
    return bench
  }

  test('is looked for as long as the step says, then kept, and is the largest', () => {
    const bench = voice()
    const { holdS } = bench.job.open.step
    expect(holdS).toBeGreaterThan(0)
    bench.run(1.2)
    bench.shows.set('FM deviation', 1800)
    bench.run(0.5)
    bench.shows.set('FM deviation', 1500)
    const tookMs = until(bench, () => bench.job.captured.length > 0) + 1700
    expect(tookMs / 1000).toBeGreaterThanOrEqual(holdS)
    expect(tookMs / 1000).toBeLessThan(holdS + 3)
    expect(bench.job.captured[0]).toMatchObject({ label: 'highest' })
    expect(bench.job.captured[0]?.value).toBeGreaterThan(1795)
  })

  test('key up before that: nothing is kept', () => {
    const bench = voice()
    bench.run(1.5)
    bench.key(false)
    bench.run(20)
    expect(bench.job.captured).toEqual([])
  })
})

describe('how a step ends by its values', () => {
  const value = { step: 'power', pass: 'work', latest: true, accepted: true } as const
  const power = { step: 'power', pass: 'work' } as const

  test.each([
    ['all accepted', [value, value], true, 'done'],
    ['one that is not', [value, { ...value, accepted: false }], false, 'out of band'],
    ['an earlier one that was not', [{ ...value, accepted: false, latest: false }, value], true, 'done'],
    ['none at all', [], false, 'out of band'],
    ['another step', [{ ...value, step: 'drive' }], false, 'out of band'],
    ['another pass', [{ ...value, pass: 'left' }], false, 'out of band'],
  ] as const)('%s', (_, values, inside, state) => {
    expect(stepEnd(values, power)).toEqual({ inside, state })
  })

  test('as found it is a reading, and no failure', () => {
    const found = { ...value, pass: 'found', accepted: false } as const
    expect(stepEnd([found], { step: 'power', pass: 'found' })).toEqual({ inside: false, state: 'done' })
  })
})

test("what the hand's moves have shown of an adjuster is known to the steps that come", () => {
  const bench = new JobBench()
  bench.begin('control-voltage')
  bench.shows.set('DC voltage', 2.1)
  bench.run(3)
  for (let volts = 2.1; volts < 2.37; volts += 0.02) {
    bench.shows.set('DC voltage', volts)
    bench.run(0.25)
  }
  until(bench, () => bench.job.captured.length > 0)
  const effect = bench.job.effects.get('VK DC voltage')
  expect(effect).toMatchObject({ clockwise: 1, moves: 1 })
  // 0.02 V each quarter of a second, behind 100 kohm
  expect(effect?.perS).toBeCloseTo(0.08 * 1.01, 1)
})

describe('what could not be written down', () => {
  test('pauses at normal with its words; nothing counts, and it is read again', () => {
    const bench = controlVoltage(2.4)
    bench.keeps = false
    until(bench, () => bench.job.phase.name === 'keeping')
    expect(bench.job.captured).toEqual([])
    bench.feed({ kind: 'kept', ok: false, words: 'the disk is full', atMs: bench.nowMs })
    expect(state(bench)).toBe('paused')
    expect(bench.frame().because).toContain('the disk is full')
    expect(bench.job.captured).toEqual([])
    expect(bench.job.armed).toBeNull()
    expect(bench.job.results[bench.job.at]?.state).toBe('to do')
  })

  test('an answer that nobody waits for changes nothing', () => {
    const bench = controlVoltage(2.4)
    bench.run(1)
    const { phase, captured } = bench.job
    bench.feed({ kind: 'kept', ok: true, words: '', atMs: bench.nowMs })
    expect(bench.job.phase).toEqual(phase)
    expect(bench.job.captured).toEqual(captured)
  })
})

describe('the drop on the lead', () => {
  /** The plug's voltage read in receive and transmit on a lead of so many ohms, at 0.3 and 1.1 A. */
  function measured(ohms: number, trip: 'own' | 'none' = 'own'): JobBench {
    const bench = new JobBench(METERS, { supplyTrip: trip })
    bench.begin('plug-volts')
    bench.shows.set('frequency', 27_205_000).set('RF power', 3)
    const through = (seconds: number, is: () => boolean) => {
      for (let at = 0; at < seconds * 4 && !is(); at++) {
        bench.shows.set('DC voltage', bench.volts - ohms * bench.amps)
        bench.run(0.25)
      }
    }
    through(15, () => bench.job.captured.length > 0)
    bench.run(1)
    bench.key(true)
    through(7, () => bench.job.captured.length > 1)
    bench.key(false)
    return bench
  }

  test.each([
    [0.05, 1, 'the supply makes up for it'],
    [0.01, 0, 'both inside: nothing to make up for'],
    [0.16, 0, 'a bad lead'],
  ])('of %d ohm: known, and trimmed %d times (%s)', (ohms, trims) => {
    const bench = measured(ohms)
    expect(bench.job.lead.ohms).toBeCloseTo(ohms, 2)
    expect(bench.job.lead.receiveAmps).toBeCloseTo(0.3, 3)
    expect(bench.job.lead.keyedAmps).toBeCloseTo(1.1, 3)
    bench.run(0.2)
    const arms = bench.did('arm').flatMap((effect) => (effect.kind === 'arm' ? [effect.volts] : []))
    const raised = arms.filter((volts) => volts > 13.81)
    expect(raised).toHaveLength(trims)
    // half way between what the lead takes in receive and in transmit
    for (const volts of raised) expect(volts).toBeCloseTo(13.8 + (ohms * (0.3 + 1.1)) / 2, 2)
  })

  test('on a supply that is not raised it is told and left', () => {
    const bench = measured(0.07, 'none')
    bench.run(0.2)
    expect(bench.job.lead.ohms).toBeCloseTo(0.07, 2)
    expect(bench.volts).toBeLessThan(13.801)
    expect(bench.job.results[0]?.state).toBe('out of band')
  })
})
