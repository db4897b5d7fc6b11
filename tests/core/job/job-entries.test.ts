import { describe, expect, test } from 'vitest'
import { CAUTION_SEEN, entriesBetween, FOUND_CLOSED, type JobEntry } from '../../../src/core/job/job-entries.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { JobBench, METERS, WHOLE_SHEET } from '../../kit/job/job-bench.ts'

/** What is written down of what is done. */
function written(bench: JobBench, what: () => void): readonly JobEntry[] {
  const before = bench.job
  what()
  return entriesBetween(before, bench.job)
}

const kinds = (entries: readonly JobEntry[]) => entries.map(({ kind }) => kind)

describe('what is written down of a job', () => {
  test('nothing where nothing changed, and of readings nothing', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    expect(entriesBetween(bench.job, bench.job)).toEqual([])
    bench.shows.set('DC voltage', 2.2)
    expect(written(bench, () => bench.run(3))).toEqual([])
  })

  test('a step that was left out, with its reason, once; a new reason for it again', () => {
    const bench = new JobBench()
    const out = (reason: string) => written(bench, () => bench.ask({ kind: 'leave out', step: 'power', reason }))
    expect(out('no dummy load')).toEqual([
      { kind: 'step', step: 'power', pass: 'work', state: 'left out', reason: 'no dummy load' },
    ])
    expect(out('no dummy load')).toEqual([])
    expect(out('later')).toMatchObject([{ kind: 'step', reason: 'later' }])
  })

  test('a caution when the person goes on from it, each once', () => {
    const bench = new JobBench()
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    const seen = written(bench, () => bench.ask({ kind: 'ready' })).filter(({ kind }) => kind === 'answered')
    expect(seen.length).toBeGreaterThan(0)
    for (const one of seen) expect(one).toMatchObject({ answer: CAUTION_SEEN })
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    expect(written(bench, () => bench.ask({ kind: 'ready' })).filter(({ kind }) => kind === 'answered')).toEqual([])
  })

  test('as found is closed from the first turn on, with what is turned; a check closes nothing', () => {
    const bench = new JobBench()
    bench.ask({ kind: 'open step', step: 'power-normal' })
    expect(written(bench, () => bench.ask({ kind: 'ready' })).filter(({ kind }) => kind === 'event')).toEqual([])
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    expect(worded(written(bench, () => bench.ask({ kind: 'ready' })))).toContainEqual({
      ...{ kind: 'event', what: FOUND_CLOSED, words: expect.stringContaining('VK') },
    })
    bench.ask({ kind: 'open step', step: 'power' })
    expect(
      written(bench, () => bench.ask({ kind: 'ready' })).some((one) => 'what' in one && one.what === FOUND_CLOSED),
    ).toBe(false)
  })

  test('something done by hand when it is confirmed, as it was asked; opening another step confirms nothing', () => {
    const bench = new JobBench()
    bench.ask({ kind: 'open step', step: 'drive' })
    bench.ask({ kind: 'ready' })
    const { phase } = bench.job
    if (phase.name !== 'action') throw new TypeError('nothing to do by hand')
    expect(written(bench, () => bench.ask({ kind: 'confirm' }))).toContainEqual({
      ...{ kind: 'answered', question: phase.words, answer: 'done' },
    })
    bench.ask({ kind: 'open step', step: 'drive' })
    bench.ask({ kind: 'ready' })
    expect(kinds(written(bench, () => bench.ask({ kind: 'open step', step: 'power' })))).not.toContain('answered')
  })

  test('a line that is only done, when it is done, with its step', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    bench.ask({ kind: 'open step', step: 'band' })
    const { phase } = bench.job
    if (phase.name !== 'action') throw new TypeError('nothing to do by hand')
    const entries = written(bench, () => bench.ask({ kind: 'confirm' }))
    expect(entries).toContainEqual({ kind: 'answered', question: phase.words, answer: 'done' })
    expect(entries).toContainEqual({ kind: 'step', step: 'band', pass: 'work', state: 'done', reason: '' })
    bench.ask({ kind: 'open step', step: 'band' })
    expect(kinds(written(bench, () => bench.ask({ kind: 'leave out', step: 'band', reason: 'x' })))).toEqual(['step'])
  })

  test('a setting in each column that changed, and a reason of what was left', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    const note = (column: string, value: string, more = {}) =>
      written(bench, () => bench.ask({ kind: 'note setting', name: 'brightness', column, value, ...more }))
    expect(note('found', '3')).toEqual([
      { kind: 'setting', name: 'brightness', column: 'found', value: '3', reason: '' },
      { kind: 'setting', name: 'brightness', column: 'job', value: '3', reason: '' },
    ])
    expect(note('found', '3')).toEqual([])
    expect(note('left', '5', { reason: 'asked for' })).toEqual([
      { kind: 'setting', name: 'brightness', column: 'left', value: '5', reason: 'asked for' },
    ])
    expect(note('left', '5', { reason: 'by the owner' })).toMatchObject([{ column: 'left', reason: 'by the owner' }])
    expect(note('job', '4')).toEqual([{ kind: 'setting', name: 'brightness', column: 'job', value: '4', reason: '' }])
  })

  test('a mark, and what was said of it, each once', () => {
    const bench = new JobBench()
    expect(written(bench, () => bench.ask({ kind: 'mark' }))).toMatchObject([{ kind: 'mark', number: 1 }])
    const say = (words: string) => written(bench, () => bench.ask({ kind: 'explain', mark: 1, words }))
    expect(say('the prod slipped')).toEqual([{ kind: 'explained', mark: 1, words: 'the prod slipped' }])
    expect(say('the prod slipped')).toEqual([])
    expect(written(bench, () => bench.ask({ kind: 'mark' }))).toMatchObject([{ kind: 'mark', number: 2 }])
  })

  test('what was taken back, by its numbers, once', () => {
    const bench = new JobBench()
    bench.shows.set('DC voltage', 2.4 / 1.01)
    bench.begin('control-voltage')
    for (let at = 0; at < 300 && bench.job.captured.length === 0; at++) bench.run(0.05)
    const back = written(bench, () => bench.ask({ kind: 'take back' }))
    expect(back.filter(({ kind }) => kind === 'taken back')).toEqual([{ kind: 'taken back', numbers: [1] }])
    expect(kinds(written(bench, () => bench.run(3)))).not.toContain('taken back')
  })

  test('an event that matters, and none that only the page plays', () => {
    const bench = new JobBench()
    bench.begin('drive')
    bench.run(2.1)
    bench.key(true)
    const passing = written(bench, () => bench.run(15.2)).filter(({ kind }) => kind === 'event')
    expect(passing).toEqual([])
    expect(bench.job.events.map(({ what }) => what)).toContain('key down 90')
    const off = written(bench, () => bench.run(4)).filter(({ kind }) => kind === 'event')
    expect(off).toMatchObject([{ what: 'stopped' }])
  })
})
