import { describe, expect, test } from 'vitest'
import { sentence } from '../../../../src/words/sentence/sentence.ts'
import { JobBench, METERS } from '../../../kit/job/job-bench.ts'

/** The short sheet, on which turning DK is said to move the control voltage and the frequency too. */
function bench(): JobBench {
  return new JobBench(METERS, { disturbs: { PW: ['control-voltage', 'frequency'] } })
}

const stateOf = (of: JobBench, id: string) =>
  of.job.results[of.job.plan.lines.findIndex((line) => line.id === id)]?.state

/** Ends a step by what it reads; keyed where it is. */
function through(of: JobBench, step: string, shown: Parameters<Map<string, number>['set']>[]): void {
  of.begin(step)
  for (const [quantity, value] of shown) of.shows.set(quantity as 'RF power', value)
  of.run(2.5)
  if (of.frame().state === 'key now') of.key(true)
  const before = of.job.captured.length
  for (let at = 0; at < 120 && of.job.captured.length === before; at++) of.run(0.25)
  of.key(false)
  of.run(60)
}

describe('what an adjuster moves too', () => {
  test('is to do again once it was done, told by name, once until the step is opened by a person', () => {
    const of = bench()
    through(of, 'control-voltage', [['DC voltage', 2.4 / 1.01]])
    expect(stateOf(of, 'control-voltage')).toBe('done')
    const told = of.job.events.length
    through(of, 'power', [
      ['RF power', 3.85],
      ['frequency', 27_205_000],
    ])
    expect(stateOf(of, 'power')).not.toBe('to do')
    expect(of.job.reopened).toEqual(['PW control-voltage'])
    const words = of.job.events.slice(told).map((event) => sentence(event.words))
    expect(words.some((one) => one.includes('Control voltage'))).toBe(true)
    // never done, so there is nothing to do again
    expect(of.job.reopened).not.toContain('PW frequency')
    through(of, 'control-voltage', [['DC voltage', 2.4 / 1.01]])
    expect(stateOf(of, 'control-voltage')).toBe('done')
    of.ask({ kind: 'open step', step: 'power' })
    expect(of.job.reopened).toEqual([])
  })

  test('a check moves nothing', () => {
    const of = bench()
    through(of, 'control-voltage', [['DC voltage', 2.4 / 1.01]])
    through(of, 'power-normal', [
      ['RF power', 3.65],
      ['frequency', 27_205_000],
    ])
    expect(stateOf(of, 'control-voltage')).toBe('done')
    expect(of.job.reopened).toEqual([])
  })
})
