import { describe, expect, test } from 'vitest'
import { JobBench, METERS, quietMeter, WHOLE_SHEET } from '../../kit/job/job-bench.ts'

describe('what a page needs to draw the hook-up', () => {
  test('is what the step reads, the main quantity first, and with which instrument', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    bench.ask({ kind: 'open step', step: 'power' })
    expect(bench.frame().step?.reads).toEqual([
      { quantity: 'RF power', instrument: 'RF power meter' },
      { quantity: 'DC current', instrument: 'DC current meter' },
    ])
    expect(bench.frame().step?.floating).toBe(true)
  })

  test('says where nobody measures it', () => {
    const bench = new JobBench(
      METERS.filter(({ quantity }) => quantity !== 'FM deviation'),
      { procedure: WHOLE_SHEET },
    )
    bench.ask({ kind: 'open step', step: 'deviation' })
    expect(bench.frame().step?.reads).toEqual([{ quantity: 'FM deviation', instrument: null }])
  })

  test('a step that is only done reads nothing', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    bench.ask({ kind: 'open step', step: 'band' })
    expect(bench.frame().step?.reads).toEqual([])
  })

  test('the edges of the band come as numbers too, and none where it is open', () => {
    const bench = new JobBench([...METERS, quietMeter('AM depth')], { procedure: WHOLE_SHEET })
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    expect(bench.frame().slot).toMatchObject({ kind: 'band', low: 2.2, high: 2.6 })
    bench.ask({ kind: 'open step', step: 'residual' })
    expect(bench.frame().slot).toMatchObject({ kind: 'band', low: null, high: 80, openLow: true })
  })

  test('is each place by its kind, and the tool of the adjuster where the step says none', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    bench.ask({ kind: 'open step', step: 'control-keyed' })
    expect(bench.frame().step?.where).toEqual([
      { what: 'prod', is: 'board', name: 'T1', words: '' },
      { what: 'common', is: 'strip', name: 'ES', words: '' },
      { what: 'side', is: 'solder', name: '', words: '' },
      { what: 'microphone', is: 'empty', name: '', words: '' },
    ])
    bench.ask({ kind: 'open step', step: 'power' })
    const blade = { is: 'blade', name: '', words: 'small blade' }
    expect(bench.frame().step).toMatchObject({ tool: blade, where: [{ what: 'tool', ...blade }] })
  })

  test('the bands are asked for while the row that says so is done, and at no other time', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    const asks = () => [bench.frame().state, bench.frame().step?.asksForBands]
    bench.ask({ kind: 'open step', step: 'band' })
    expect(asks()).toEqual(['action', true])
    bench.ask({ kind: 'open step', step: 'first-key' })
    expect(asks()).toEqual(['read step', false])
    bench.ask({ kind: 'ready' })
    expect(asks()).toEqual(['action', false])
  })

  test('nor while something else is to be done in a step that asks for them', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    bench.ask({ kind: 'open step', step: 'band' })
    const { job } = bench
    bench.job = { ...job, phase: { name: 'action', words: 'Set the set to channel 1' } }
    expect(bench.frame().step?.asksForBands).toBe(false)
  })
})
