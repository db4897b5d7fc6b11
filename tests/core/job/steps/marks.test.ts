import { describe, expect, test } from 'vitest'
import { entriesBetween } from '../../../../src/core/job/job-entries.ts'
import { type Remembered, restoreJob } from '../../../../src/core/job/restore-job.ts'
import type { Job } from '../../../../src/core/job/state/job-types.ts'
import { worded } from '../../../../src/words/sentence/sentence.ts'
import { JobBench, METERS, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

/** A job whose control voltage was just captured. */
function captured(): { readonly bench: JobBench; readonly before: Job } {
  const bench = new JobBench()
  bench.begin('control-voltage')
  bench.shows.set('DC voltage', 2.4 / 1.01)
  const before = bench.job
  while (bench.job.captured.length === 0) bench.run(0.1)
  return { bench, before }
}

describe('a capture taken back', () => {
  test('is offered for five seconds and not a moment longer', () => {
    const { bench } = captured()
    bench.run(4.8)
    const { offers, takeBackUntilMs = Number.NaN, atMs } = bench.frame()
    expect(offers).toContain('take back')
    expect(takeBackUntilMs).toBe((bench.job.lastKept?.atMs ?? 0) + 5000)
    expect(takeBackUntilMs - atMs).toBeLessThan(300)
    bench.run(0.4)
    expect(bench.frame().offers).not.toContain('take back')
    expect(bench.frame()).not.toHaveProperty('takeBackUntilMs')
    expect(bench.ask({ kind: 'take back' })).toMatchObject({ ok: false, words: expect.stringMatching(/within 5 s/) })
  })

  test('stays in the list and counts for nothing; its step is open again, and both stay when it is read anew', () => {
    const { bench } = captured()
    bench.run(2)
    expect(bench.frame().step?.id).not.toBe('control-voltage')
    expect(bench.ask({ kind: 'take back' })).toEqual({ ok: true, words: 'taken back' })
    expect(bench.frame()).toMatchObject({ state: 'read step', step: { id: 'control-voltage' } })
    expect(bench.job.captured).toMatchObject([{ number: 1, latest: false, takenBack: true }])
    expect(bench.job.taken).toEqual([]) // nothing later is held against it
    expect(bench.frame().steps.find(({ id }) => id === 'control-voltage')).toMatchObject({ state: 'open', result: '' })
    expect(bench.ask({ kind: 'take back' })).toMatchObject({ ok: false })
    bench.ask({ kind: 'ready' })
    bench.run(15)
    expect(bench.job.captured).toMatchObject([
      { number: 1, latest: false, takenBack: true },
      { number: 2, latest: true },
    ])
  })

  test('brings an earlier value of the step back to count', () => {
    const { bench } = captured()
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    bench.ask({ kind: 'ready' })
    while (bench.job.captured.length === 1) bench.run(0.1)
    expect(bench.job.captured.map(({ latest }) => latest)).toEqual([false, true])
    bench.ask({ kind: 'take back' })
    expect(bench.job.captured.map(({ latest }) => latest)).toEqual([true, false])
  })

  test('is written down as taken back, and a job opened again after a crash knows it', () => {
    const { bench, before } = captured()
    const taken = bench.job
    bench.ask({ kind: 'take back' })
    expect(entriesBetween(taken, bench.job)).toContainEqual({ kind: 'taken back', numbers: [1] })
    const remembered: Remembered[] = [
      ...taken.captured.map((one) => ({ kind: 'captured' as const, captured: one })),
      { kind: 'taken back', numbers: [1] },
    ]
    expect(restoreJob(before.plan, remembered, 0, '').captured).toEqual(bench.job.captured)
  })

  test('of one tone of six opens at that tone, with the others kept', () => {
    const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
    for (const { id, pass } of bench.frame().steps)
      if (pass === 'found' || id === 'first-key') bench.ask({ kind: 'leave out', step: id, reason: 'for the test' })
    const many = bench.job.plan.lines.find(({ pass, step }) => pass === 'work' && step.stops.length > 3)
    if (!many) throw new TypeError('no step of several stops')
    const stops = () => bench.frame().step?.stop?.number
    bench.begin(many.id)
    bench.key(true)
    for (const { live } of bench.job.open.measured) bench.shows.set(live.quantity, middleOf(bench.job))
    bench.shows.set('RF power', 3.7)
    bench.shows.set('frequency', bench.job.open.channel?.transmitHz ?? 0)
    for (let at = 0; at < 400 && stops() !== 3; at++) bench.run(0.1)
    expect(stops()).toBe(3)
    const kept = bench.job.captured.length
    expect(bench.ask({ kind: 'take back' })).toMatchObject({ ok: true })
    expect(stops()).toBe(2)
    expect(bench.job.captured.filter(({ takenBack }) => takenBack)).toHaveLength(kept / 2)
    expect(bench.job.captured.filter(({ latest }) => latest)).toHaveLength(kept / 2)
  })

  test('as found, after the board was turned, stays as it is: that pass is closed', () => {
    const { bench } = captured()
    const line = bench.job.plan.lines.findIndex(({ step }) => step.id === 'control-voltage')
    const lines = bench.job.plan.lines.map((one, at) => (at === line ? { ...one, pass: 'found' as const } : one))
    bench.job = { ...bench.job, plan: { ...bench.job.plan, lines }, turned: true }
    expect(bench.frame().offers).not.toContain('take back')
    expect(bench.ask({ kind: 'take back' })).toMatchObject({ ok: false })
  })

  test('not while the supply is off for safety', () => {
    const { bench } = captured()
    bench.ask({ kind: 'stop' })
    expect(bench.frame().offers).not.toContain('take back')
  })
})

function middleOf(job: Job): number {
  const goal = job.open.measured[0]?.rule.goal
  return goal?.kind === 'band' ? ((goal.band.low ?? 0) + (goal.band.high ?? 0)) / 2 : 1
}

describe('a mark', () => {
  test('keeps the moment and what the meter showed; words come later; both are written down', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.shows.set('DC voltage', 2.55 / 1.01)
    bench.run(6)
    const before = bench.job
    expect(bench.ask({ kind: 'mark' })).toEqual({ ok: true, words: 'marked' })
    expect(bench.frame().marks).toMatchObject([{ number: 1, reading: '2.551 V', words: '' }])
    const [mark] = bench.job.marks
    expect(entriesBetween(before, bench.job)).toEqual([
      { kind: 'mark', number: 1, at: mark?.at, title: mark?.title, reading: '2.551 V' },
    ])
    const marked = bench.job
    expect(bench.ask({ kind: 'explain', mark: 2, words: 'x' })).toMatchObject({ ok: false })
    expect(bench.ask({ kind: 'explain', mark: 1, words: ' the prod slipped ' })).toMatchObject({ ok: true })
    expect(entriesBetween(marked, bench.job)).toEqual([{ kind: 'explained', mark: 1, words: 'the prod slipped' }])
    const again = restoreJob(
      bench.job.plan,
      [
        { kind: 'mark', number: 1, at: mark?.at ?? '', title: mark?.title ?? '', reading: '2.551 V' },
        { kind: 'explained', mark: 1, words: 'the prod slipped' },
      ],
      0,
      '',
    )
    expect(again.marks).toEqual(bench.job.marks)
  })

  test('two hundred are enough', () => {
    const bench = new JobBench()
    for (let at = 0; at < 200; at++) expect(bench.ask({ kind: 'mark' }).ok).toBe(true)
    expect(bench.ask({ kind: 'mark' })).toMatchObject({ ok: false })
  })
})

describe('cautions', () => {
  test('stand on the first card that has them, are written down as seen when the person goes on, and are small from then on', () => {
    const bench = new JobBench()
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    const before = bench.job
    const fresh = bench.frame().step?.cautions ?? []
    expect(fresh.length).toBeGreaterThan(0)
    expect(bench.frame().step?.cautionsSeen).toEqual([])
    bench.ask({ kind: 'ready' })
    expect(worded(entriesBetween(before, bench.job)).filter(({ kind }) => kind === 'answered')).toEqual(
      fresh.map((question) => ({ kind: 'answered', question, answer: 'caution seen' })),
    )
    expect(bench.frame().step).toMatchObject({ cautions: [], cautionsSeen: fresh })
    bench.ask({ kind: 'open step', step: 'power' })
    expect(bench.frame().step?.cautions.filter((words) => fresh.includes(words))).toEqual([])
  })

  test('a refused "ready" has shown nothing to the end', () => {
    const bench = new JobBench(METERS.filter(({ quantity }) => quantity !== 'DC voltage'))
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    expect(bench.ask({ kind: 'ready' }).ok).toBe(false)
    expect(bench.job.cautionsSeen).toEqual([])
  })

  test('seen before a crash they are seen after it', () => {
    const bench = new JobBench()
    const [words = ''] = bench.frame().step?.cautions ?? []
    const again = restoreJob(bench.job.plan, [{ kind: 'caution', words }], 0, '')
    expect(again.cautionsSeen).toEqual([words])
  })
})
