import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test } from 'vitest'
import { entriesBetween } from '../../../../src/core/job/job-entries.ts'
import { farOut } from '../../../../src/core/job/steps/question.ts'
import { worded } from '../../../../src/words/sentence/sentence.ts'
import { JobBench, METERS, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

describe('far out', () => {
  test.each([
    [2.4, { low: 1.4, high: 1.8 }, true, 'one and a half widths over'],
    [2.2, { low: 1.4, high: 1.8 }, false, 'one width over, to the last digit'],
    [0.9, { low: 1.4, high: 1.8 }, true, 'more than one width under'],
    [1.5, { low: 1.4, high: 1.8 }, false, 'inside'],
    [0.14, { low: 0.3, high: null }, true, 'under half of "at least 0.3 W"'],
    [0.16, { low: 0.3, high: null }, false, 'over half of it'],
    [1.1, { low: null, high: 0.5 }, true, 'over twice "at most 0.5 V"'],
    [0.9, { low: null, high: 0.5 }, false, 'under twice it'],
    [7, { low: null, high: null }, false, 'no limit'],
  ])('%d of %j: %s (%s)', (value, band: { low: number | null; high: number | null }, is, _) => {
    expect(farOut(value, band)).toBe(is)
  })
})

/** The whole sheet, with what has to come first left out. */
function sheet(): JobBench {
  const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
  bench.ask({ kind: 'leave out', step: 'first-key', reason: 'not for this test' })
  return bench
}

/** Key down for a step that has just been begun, until something is asked or captured. */
function keyFor(bench: JobBench, seconds: number): void {
  bench.key(true)
  bench.run(seconds)
}

describe('deviation with the oscillator lead off', () => {
  function asked(): JobBench {
    const bench = sheet()
    bench.begin('deviation.found')
    bench.shows.set('FM deviation', 30).set('RF power', 3.8).set('frequency', 27.205e6)
    keyFor(bench, 10)
    return bench
  }

  test('is asked about, with the likely cause and both numbers, before anything is kept', () => {
    const bench = asked()
    expect(bench.job.captured).toEqual([])
    expect(bench.frame()).toMatchObject({ state: 'release key', because: expect.stringContaining('oscillator lead') })
    expect(bench.ask({ kind: 'keep' })).toEqual({ ok: false, words: 'release the key first' })
    expect(bench.ask({ kind: 'again' })).toEqual({ ok: false, words: 'release the key first' })
    expect(bench.job.armed).toBeNull()
    expect(bench.did('tone off')).toHaveLength(1)
    bench.key(false)
    const { state, guide, because, offers } = bench.frame()
    expect({ state, words: guide.words, because }).toEqual({
      state: 'question',
      words: 'Is the oscillator lead in? Is the set in FM?',
      because: '30 Hz, the step expects 1.600 .. 1.950 kHz',
    })
    expect(offers.slice(0, 2)).toEqual(['again', 'keep'])
  })

  test('read again: nothing is kept, the step is open where it was, and the right value is kept without a question', () => {
    const bench = asked()
    bench.key(false)
    const before = bench.job
    expect(bench.ask({ kind: 'again' })).toEqual({ ok: true, words: 'read again' })
    expect(worded(entriesBetween(before, bench.job))).toContainEqual({
      kind: 'answered',
      question: expect.stringMatching(
        /^Is the oscillator lead in\? .*\? FM deviation, limited: 30 Hz, the step expects/,
      ),
      answer: 'read again',
    })
    expect(bench.frame()).toMatchObject({ state: 'read step', step: { id: 'deviation', pass: 'found' } })
    bench.shows.set('FM deviation', 1750)
    bench.ask({ kind: 'ready' })
    bench.run(60) // the rest of the set
    keyFor(bench, 10)
    expect(bench.job.captured).toMatchObject([{ step: 'deviation', pass: 'found', verdict: 'inside' }])
  })

  test('kept as it is: the value counts, and the answer is written down before it', () => {
    const bench = asked()
    bench.key(false)
    bench.keeps = false
    const before = bench.job
    expect(bench.ask({ kind: 'keep' })).toEqual({ ok: true, words: 'kept as it is' })
    expect(entriesBetween(before, bench.job)).toMatchObject([{ kind: 'answered', answer: 'kept as it is' }])
    bench.feed({ kind: 'kept', ok: true, words: '', atMs: bench.nowMs })
    expect(bench.job.captured).toMatchObject([{ step: 'deviation', digits: '30', verdict: 'low' }])
    expect(bench.job.results[bench.job.plan.lines.findIndex(({ id }) => id === 'deviation.found')]?.state).toBe('done')
  })

  test('a deviation that is low, but plainly that of a tone, is kept without a question about the lead', () => {
    const bench = sheet()
    bench.begin('deviation.found')
    bench.shows.set('FM deviation', 1100).set('RF power', 3.8).set('frequency', 27.205e6)
    keyFor(bench, 10)
    expect(bench.job.captured).toMatchObject([{ verdict: 'low' }])
  })
})

describe('control voltage of channel 1 with the set on 20', () => {
  test('is asked about, and says that it is as on channel 20', () => {
    const bench = sheet()
    bench.begin('control-voltage.found')
    bench.shows.set('DC voltage', 2.4 / 1.01)
    bench.run(15)
    bench.ask({ kind: 'leave out', step: 'frequency.found', reason: 'not for this test' })
    bench.ask({ kind: 'leave out', step: 'power-normal.found', reason: 'not for this test' })
    bench.ask({ kind: 'leave out', step: 'deviation.found', reason: 'not for this test' })
    bench.begin('control-voltage')
    bench.run(15)
    bench.begin('control-low')
    bench.run(15)
    expect(bench.frame()).toMatchObject({
      state: 'question',
      guide: { words: 'Is the set on channel 1?' },
      because: expect.stringMatching(/^2\.40\d V, the step expects 1\.400 \.\. 1\.800 V; it is as on channel 20$/),
    })
    expect(bench.job.captured.some(({ step }) => step === 'control-low')).toBe(false)
  })

  test('a value just outside is kept without a question', () => {
    const bench = sheet()
    bench.begin('control-low')
    bench.shows.set('DC voltage', 1.95 / 1.01)
    bench.run(15)
    expect(bench.job.captured).toMatchObject([{ step: 'control-low', verdict: 'high' }])
  })
})

test('power that is far out may be the wrong mode; the channel that the counter has seen is not asked about', () => {
  const bench = sheet()
  bench.begin('power-normal.found')
  bench.shows.set('RF power', 1.1).set('frequency', 27.205e6)
  keyFor(bench, 9)
  bench.key(false)
  expect(bench.frame()).toMatchObject({ state: 'question', guide: { words: 'Is the set in FM?' } })
})

test('power that is far out, but more than half of what is wanted, is a weak set and kept without a question', () => {
  const bench = sheet()
  bench.begin('power-normal.found')
  bench.shows.set('RF power', 1.94).set('frequency', 27.205e6)
  keyFor(bench, 9)
  expect(bench.job.captured[0]).toMatchObject({ quantity: 'RF power', verdict: 'low' })
})

test('a frequency that is far out is seen by the counter itself: nothing to ask', () => {
  const bench = sheet()
  bench.begin('frequency.found')
  bench.shows.set('RF power', 3.8).set('frequency', 27.2062e6)
  keyFor(bench, 19)
  expect(bench.job.captured).toMatchObject([{ step: 'frequency', verdict: 'high' }])
})

test('a second stop goes on after its question, with the supply armed again', () => {
  const bench = sheet()
  bench.begin('power-ends')
  bench.shows.set('RF power', 1.1).set('frequency', 26.965e6)
  keyFor(bench, 7)
  bench.key(false)
  expect(bench.frame()).toMatchObject({ state: 'question' })
  bench.ask({ kind: 'keep' })
  expect(bench.job.captured).toMatchObject([{ title: 'Power at the band ends (channel 1)' }])
  expect(bench.did('arm')).toHaveLength(2)
  bench.run(40)
  expect(bench.frame()).toMatchObject({ state: 'key now', step: { channelWanted: 40 } })
  bench.shows.set('RF power', 3.6).set('frequency', 27.405e6)
  keyFor(bench, 7)
  expect(bench.job.captured).toMatchObject([{ quantity: 'RF power' }, { title: 'Power at the band ends (channel 40)' }])
})

describe('a voltage that is far out', () => {
  const folder = mkdtempSync(join(tmpdir(), 'question-'))
  afterAll(() => rmSync(folder, { recursive: true }))

  function readAt(prod: string): JobBench {
    const sheet = readFileSync(join(import.meta.dirname, '..', '..', '..', 'kit', 'two-channels.yaml'), 'utf8')
    const file = join(folder, 'sheet.yaml')
    writeFileSync(
      file,
      sheet
        .replace(/supply: 15.6 V/, '')
        .replace('channels: [1, 40]', 'channel: 1')
        .replace('prod: T1', `prod: ${prod}`),
    )
    const bench = new JobBench(METERS, { procedure: file })
    bench.begin('control-volts-high')
    bench.shows.set('DC voltage', 9)
    bench.run(15)
    return bench
  }

  test.each([
    ['T1', 'Is the set on channel 1?'],
    ['{ on: board, words: the lug by the plug }', 'Is the set on channel 1?'],
  ])('on the board (%s) the channel is asked about', (prod, ask) => {
    expect(readAt(prod).frame()).toMatchObject({ state: 'question', guide: { words: ask } })
  })

  test('at the plug it does not go by the channel: nothing is asked', () => {
    expect(readAt('plug').frame()).toMatchObject({ state: 'captured' })
  })
})
