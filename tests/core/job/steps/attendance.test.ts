import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { JobBench, METERS, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

const TWO_CHANNELS = join(import.meta.dirname, '..', '..', '..', 'kit', 'two-channels.yaml')

const gone = (bench: JobBench) =>
  bench.feed({ kind: 'page', present: false, why: 'the page was closed', atMs: bench.nowMs })
const back = (bench: JobBench) => bench.feed({ kind: 'page', present: true, why: '', atMs: bench.nowMs })
const linkOf = (bench: JobBench, quantity: string, up: boolean) =>
  bench.feed({ kind: 'link', instrument: `${quantity} meter`, up, words: 'no reply', atMs: bench.nowMs })

/** Channel 1 of a receive step at 15.6 V is read; channel 40 is asked for next. */
function overTwoChannels({ keeps = true } = {}): JobBench {
  const bench = new JobBench(METERS, { procedure: TWO_CHANNELS })
  bench.keeps = keeps
  bench.shows.set('DC voltage', 1.6)
  bench.begin('control-volts-high')
  bench.run(8)
  return bench
}

/** The power step of the short procedure, armed at 15.6 V in receive. */
function raised(): JobBench {
  const bench = new JobBench()
  bench.begin('power')
  bench.run(1)
  expect(bench.volts).toBeCloseTo(15.6, 1)
  return bench
}

describe('nobody at the page that steers', () => {
  test('between two channels of a raised receive step it goes back to normal, and does not come back by itself', () => {
    const bench = overTwoChannels()
    expect(bench.frame()).toMatchObject({ state: 'action' })
    expect(bench.volts).toBeCloseTo(15.6, 1)
    gone(bench)
    expect(bench.volts).toBe(13.8)
    expect(bench.frame()).toMatchObject({
      state: 'paused',
      because: 'the page was closed. The supply went back to normal',
    })
    bench.run(30)
    expect(bench.volts).toBe(13.8)
  })

  test('while the first channel is on its way to the disk: kept, at normal, and the second is not read at the wrong voltage', () => {
    const bench = overTwoChannels({ keeps: false })
    expect(bench.job.phase.name).toBe('keeping')
    gone(bench)
    expect(bench.volts).toBe(13.8)
    bench.feed({ kind: 'kept', ok: true, words: '', atMs: bench.nowMs })
    expect(bench.job.captured).toHaveLength(1)
    bench.run(30)
    expect(bench.job.captured).toHaveLength(1)
    expect(bench.frame()).toMatchObject({
      state: 'paused',
      because: expect.stringMatching(/What was captured is kept/),
    })
  })

  test('a meter that comes back raises nothing', () => {
    const bench = raised()
    linkOf(bench, 'RF power', false)
    expect(bench.volts).toBe(13.8)
    gone(bench)
    const arms = bench.did('arm').length
    linkOf(bench, 'RF power', true)
    bench.run(5)
    expect(bench.did('arm')).toHaveLength(arms)
    expect(bench.frame()).toMatchObject({ state: 'paused', because: expect.stringMatching(/Nobody is at the page/) })
    back(bench)
    bench.ask({ kind: 'go on' })
    bench.begin('power')
    expect(bench.did('arm')).toHaveLength(arms + 1)
  })

  test('ready is refused, and the first output is not switched on either', () => {
    const bench = new JobBench()
    gone(bench)
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    expect(bench.ask({ kind: 'ready' })).toMatchObject({
      ok: false,
      words: expect.stringMatching(/Nobody is at the page/),
    })
    expect(bench.did('arm')).toEqual([])
  })

  test('ten minutes alone at normal voltage: supply off, said once', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    gone(bench)
    bench.run(599)
    expect(bench.output).toBe('on')
    bench.run(2)
    expect(bench.output).toBe('off')
    expect(bench.frame()).toMatchObject({ state: 'stopped', because: 'nobody was at the page for 10 min' })
    bench.run(700)
    expect(bench.did('safe')).toHaveLength(1)
  })

  test('somebody who comes back in time begins the ten minutes anew', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    gone(bench)
    bench.run(500)
    back(bench)
    gone(bench)
    bench.run(599)
    expect(bench.output).toBe('on')
  })

  test('a warm-up may go on alone for as long as its step says it takes', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    bench.ask({ kind: 'open step', step: 'warm-up' })
    bench.job = {
      ...bench.job,
      results: bench.job.results.map((one, at) => (at < bench.job.at ? { state: 'done', reason: '' } : one)),
    }
    bench.ask({ kind: 'ready' })
    bench.ask({ kind: 'confirm' })
    expect(bench.output).toBe('on')
    gone(bench)
    bench.run(899)
    expect(bench.output).toBe('on')
    bench.run(2)
    expect(bench.output).toBe('off')
  })
})
