import { describe, expect, test } from 'vitest'
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
    expect(bench.job.events.map(({ words }) => words)).toContainEqual(
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
