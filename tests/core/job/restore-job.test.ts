import { expect, test } from 'vitest'
import { RESTORED, type Remembered, restoreJob } from '../../../src/core/job/restore-job.ts'
import { JobBench, WHOLE_SHEET } from '../../kit/job/job-bench.ts'

/** A job some way in: as found left out, the control voltage set, a setting written down. */
function somewhere(): { readonly bench: JobBench; readonly remembered: readonly Remembered[] } {
  const bench = new JobBench(undefined, { procedure: WHOLE_SHEET })
  for (const { id, pass } of bench.frame().steps)
    if (pass === 'found') bench.ask({ kind: 'leave out', step: id, reason: 'for the test' })
  bench.ask({ kind: 'note setting', name: 'brightness', column: 'found', value: '3' })
  bench.begin('control-voltage')
  bench.shows.set('DC voltage', 2.4 / 1.01)
  bench.run(15)
  const { job } = bench
  const remembered: Remembered[] = [
    ...job.captured.map((captured) => ({ kind: 'captured' as const, captured })),
    ...job.plan.lines.flatMap(({ step, pass }, at) => {
      const result = job.results[at]
      return result ? [{ kind: 'step' as const, step: step.id, pass, ...result }] : []
    }),
    { kind: 'setting', name: 'brightness', column: 'found', value: '3', reason: '' },
    { kind: 'setting', name: 'brightness', column: 'job', value: '3', reason: '' },
  ]
  return { bench, remembered }
}

test('a job stands where it stood: values, results, settings, as found closed; nothing resumes by itself', () => {
  const { bench, remembered } = somewhere()
  const again = restoreJob(bench.job.plan, remembered, 0, '2026-01-05T09:00:00.000Z')
  expect(again.captured).toEqual(bench.job.captured)
  expect(again.results).toEqual(bench.job.results)
  expect(again.settings).toEqual(bench.job.settings)
  expect(again.turned).toBe(true)
  expect(again.phase).toEqual({ name: 'paused', words: RESTORED })
  expect(again.armed).toBeNull()
  expect(again.plan.lines[again.at]?.id).toBe('receive-current')
})

test('a value captured again after that has the next number and the earlier one stays', () => {
  const { bench, remembered } = somewhere()
  bench.job = restoreJob(bench.job.plan, remembered, bench.nowMs, '2026-01-05T09:00:00.000Z')
  expect(bench.ask({ kind: 'go on' })).toMatchObject({ ok: true })
  bench.begin('control-voltage')
  bench.run(15)
  expect(bench.job.captured.map(({ number, latest }) => [number, latest])).toEqual([
    [1, false],
    [2, true],
  ])
})

test('a job whose steps were all done is finished, to be closed', () => {
  const { bench, remembered } = somewhere()
  const all: Remembered[] = bench.job.plan.lines.map(({ step, pass }) => ({
    kind: 'step',
    step: step.id,
    pass,
    state: 'done',
    reason: '',
  }))
  expect(restoreJob(bench.job.plan, [...remembered, ...all], 0, '').phase.name).toBe('finished')
})
