import { expect, test } from 'vitest'
import { behindWarmUp, dueWords, mayBeWarm, sampleDue, sampled } from '../../../../src/core/job/steps/warming.ts'
import { sentence, worded } from '../../../../src/words/sentence/sentence.ts'
import { JobBench, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

const CHANNEL_20_HZ = 27.205e6

/** The whole sheet at its warm-up: what comes before is left out, so is as found. */
function atWarmUp(): JobBench {
  const bench = new JobBench(undefined, { procedure: WHOLE_SHEET })
  const early = new Set(['receive-current', 'band', 'settings-found', 'first-key', 'plug-volts'])
  for (const { id, pass } of bench.frame().steps)
    if (pass === 'found' || early.has(id)) bench.ask({ kind: 'leave out', step: id, reason: 'for the test' })
  bench.job = { ...bench.job, loadIsOn: true }
  bench.ask({ kind: 'open step', step: 'warm-up' })
  return bench
}

/** Keyed when it is asked for, until it is asked up again; a set that drifts so many hertz a minute. */
function sample(bench: JobBench, hzPerMin: number): void {
  expect(bench.frame().state).toBe('key now')
  bench.key(true)
  for (let s = 0; s < 6 && bench.frame().state !== 'release key'; s++) {
    bench.shows.set('frequency', CHANNEL_20_HZ + 400 + (hzPerMin * bench.nowMs) / 60_000)
    bench.shows.set('RF power', 0.0035)
    bench.run(1)
  }
  expect(bench.frame().state).toBe('release key')
  bench.key(false)
  bench.run(0.5)
}

function begin(bench: JobBench): void {
  bench.ask({ kind: 'ready' })
  bench.ask({ kind: 'confirm' })
  bench.run(3)
}

test('after a sample the next step without a key is opened; when the next one is due the key is asked for again, between steps', () => {
  const bench = atWarmUp()
  begin(bench)
  sample(bench, -20)
  expect(bench.frame().step?.id).toBe('control-voltage')
  expect(bench.frame().events.at(-1)?.words).toMatch(/^Warm-up: too early to say/)
  bench.ask({ kind: 'ready' })
  bench.shows.set('DC voltage', 2.4 / 1.01)
  bench.run(65)
  expect(bench.job.captured.map(({ step }) => step)).toEqual(['control-voltage'])
  expect(bench.frame().step?.id).toBe('control-low') // nobody is torn away from a step that is being read
  bench.shows.set('DC voltage', 1.6 / 1.01)
  bench.ask({ kind: 'ready' })
  bench.run(12)
  expect(bench.job.captured.map(({ step }) => step)).toEqual(['control-voltage', 'control-low'])
  expect(bench.frame().step?.id).toBe('warm-up')
  sample(bench, -20)
  expect(bench.frame().step?.id).toBe('control-high')
})

test('with nothing else to do the wait itself is shown, and the key is asked for when it is time', () => {
  const bench = atWarmUp()
  for (const step of ['control-voltage', 'control-low', 'control-high'])
    bench.ask({ kind: 'leave out', step, reason: 'for the test' })
  begin(bench)
  sample(bench, -20)
  expect(bench.frame()).toMatchObject({
    state: 'warming',
    guide: { words: expect.stringMatching(/^Key again in \d+ s$/) },
    step: { targetWords: 'drift below 5 Hz a minute, a short key-down every 60 s' },
  })
  bench.run(50)
  expect(bench.frame().state).toBe('warming')
  bench.run(12)
  sample(bench, -20)
  expect(bench.frame().state).toBe('warming')
})

test('a set that stands still is warm: done with what was seen, nothing captured, and the sheet goes on', () => {
  const bench = atWarmUp()
  for (const step of ['control-voltage', 'control-low', 'control-high'])
    bench.ask({ kind: 'leave out', step, reason: 'for the test' })
  begin(bench)
  for (let count = 0; count < 12 && bench.frame().step?.id === 'warm-up'; count++) {
    sample(bench, 0)
    bench.run(62)
  }
  const line = bench.job.plan.lines.findIndex(({ id }) => id === 'warm-up')
  expect(worded(bench.job.results[line])).toMatchObject({
    state: 'done',
    reason: expect.stringMatching(/drift now .* warm/),
  })
  expect(bench.job.captured).toEqual([])
  expect(bench.frame().step?.id).toBe('control-keyed')
})

test('a set that drifts goes on being sampled', () => {
  const bench = atWarmUp()
  for (const step of ['control-voltage', 'control-low', 'control-high'])
    bench.ask({ kind: 'leave out', step, reason: 'for the test' })
  begin(bench)
  for (let count = 0; count < 8; count++) {
    sample(bench, -12)
    bench.run(62)
  }
  expect(bench.frame().step?.id).toBe('warm-up')
})

test('"warm already" may be chosen on a simulated bench, and on no other', () => {
  const bench = atWarmUp()
  expect(bench.frame().offers).toContain('confirm')
  expect(bench.ask({ kind: 'confirm' })).toMatchObject({ ok: true })
  expect(bench.frame().steps.find(({ id }) => id === 'warm-up')).toMatchObject({
    state: 'done',
    result: 'warm already, as chosen on a simulated bench',
  })
  const real = atWarmUp()
  real.job = { ...real.job, plan: { ...real.job.plan, simulated: false } }
  expect(real.frame().offers).not.toContain('confirm')
  expect(real.ask({ kind: 'confirm' })).toMatchObject({ ok: false })
})

test('beside a warm-up goes the next line that is to do, where it is read with the key up all the time; no other', () => {
  const bench = atWarmUp()
  const { plan } = bench.job
  const warming = { at: -1, samples: { rule: { driftHzPerMin: 5 }, samples: [], jumps: 0, fit: null, fitBefore: null } }
  const next = (id: string) => {
    const wanted = plan.lines.findIndex((line) => line.id === id)
    const results = plan.lines.map((_, at) => ({
      state: at === wanted ? ('to do' as const) : ('done' as const),
      reason: '',
    }))
    const found = behindWarmUp({ ...bench.job, results, warming: { ...warming, aimHz: null, dueMs: 0 } })
    return found < 0 ? 'none' : plan.lines[found]?.id
  }
  expect(next('control-low')).toBe('control-low')
  expect(next('receive-current')).toBe('receive-current')
  for (const id of [
    'band',
    'settings-found',
    'plug-volts',
    'power-normal',
    'control-voltage.found',
    'control-voltage.left',
  ])
    expect(next(id)).toBe('none')
  expect(behindWarmUp({ ...bench.job, warming: null })).toBe(-1)
})

test('a sample is due so long after the last as the step says, and only while the step is to do', () => {
  const bench = atWarmUp()
  const at = { ...bench.job, nowMs: 10_000 }
  const warming = sampled(at, CHANNEL_20_HZ + 400)
  expect(warming).toMatchObject({ at: at.at, aimHz: CHANNEL_20_HZ, dueMs: 70_000 })
  expect(warming.samples.samples).toEqual([{ atS: 10, hz: CHANNEL_20_HZ + 400 }])
  const later = (nowMs: number) => ({ ...at, nowMs, warming })
  expect(sampleDue(later(69_999))).toBe(false)
  expect(sampleDue(later(70_000))).toBe(true)
  const done = at.results.map((one, index) => (index === at.at ? { ...one, state: 'done' as const } : one))
  expect(sampleDue({ ...later(70_000), results: done })).toBe(false)
  expect(sampleDue({ ...at, warming: null })).toBe(false)
  expect(sentence(dueWords(later(10_001)))).toContain('60')
  expect(sentence(dueWords(later(69_001)))).toContain('1')
  expect(sentence(dueWords(later(80_000)))).toContain('0')
  const second = sampled({ ...later(70_000) }, CHANNEL_20_HZ + 390)
  expect(second.samples.samples).toHaveLength(2)
  // another warm-up begins anew
  expect(
    sampled({ ...later(70_000), warming: { ...warming, at: at.at + 1 } }, CHANNEL_20_HZ).samples.samples,
  ).toHaveLength(1)
})

test('nobody has to sit it out on a simulated bench; on a real one everybody has', () => {
  const { job } = atWarmUp()
  expect(mayBeWarm(job)).toBe(true)
  expect(mayBeWarm({ ...job, phase: { name: 'warming' } })).toBe(true)
  expect(mayBeWarm({ ...job, phase: { name: 'work' } })).toBe(false)
  expect(mayBeWarm({ ...job, plan: { ...job.plan, simulated: false } })).toBe(false)
  const other = new JobBench()
  expect(mayBeWarm(other.job)).toBe(false)
})
