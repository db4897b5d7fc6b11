import { expect, test } from 'vitest'
import { JobBench, quietMeter, WHOLE_SHEET } from '../../kit/job/job-bench.ts'

/** Lines that have to be done or left out before. */
const BEFORE = ['control-voltage.found', 'frequency.found', 'power-normal.found', 'deviation.found', 'first-key']

/** Power and frequency in one box, which reads one at a time; the frequency does not answer yet. */
function keyedCheck(counterIn: string): JobBench {
  const meters = [
    quietMeter('DC voltage', { inputOhms: 10e6 }),
    quietMeter('RF power', { instrument: 'testset' }),
    quietMeter('frequency', { instrument: counterIn, everyMs: 1000, latencyMs: 1000, gateMs: 1000 }),
    quietMeter('FM deviation', { instrument: 'testset' }),
    quietMeter('DC current'),
  ]
  const bench = new JobBench(meters, { procedure: WHOLE_SHEET })
  for (const step of BEFORE) bench.ask({ kind: 'leave out', step, reason: 'for the test' })
  bench.begin('power-low-volts')
  bench.run(4)
  bench.shows.set('RF power', 1.62)
  bench.key(true)
  return bench
}

test('in a check of two quantities the one that has settled makes room for the other', () => {
  const bench = keyedCheck('testset')
  bench.run(2)
  expect(bench.did('watch').at(-1)).toMatchObject({ quantities: ['RF power', 'frequency'] })
  bench.run(5)
  expect(bench.did('watch').at(-1)).toMatchObject({ quantities: ['frequency', 'RF power'] })
})

test('while the box reads the other one its first reading is not called old', () => {
  const bench = keyedCheck('testset')
  bench.run(5)
  bench.shows.delete('RF power')
  bench.run(3)
  expect(bench.frame()).toMatchObject({ state: 'settling', guide: { words: 'Settled. Now its frequency: hold on' } })
})

test('of a box of its own it is: nobody else has its time', () => {
  const bench = keyedCheck('counter')
  bench.run(5)
  bench.shows.delete('RF power')
  bench.run(3)
  expect(bench.frame().state).toBe('old')
})
