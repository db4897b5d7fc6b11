import { expect, test } from 'vitest'
import { runFast } from '../../src/commands/job/job-fast.ts'
import type { JobEntry } from '../../src/core/job/job-entries.ts'
import { recompute } from '../../src/core/reading/evidence.ts'
import { Evidence } from '../../src/schema/kept/evidence.ts'
import { PROCEDURE } from '../kit/job/job-bench.ts'
import { memoryRecorder } from '../kit/job/memory-recorder.ts'

const { recorder, entries } = memoryRecorder()
const run = await runFast({ procedure: PROCEDURE, seed: 3, warm: true, bands: [], recorder })
type Kept = Extract<JobEntry, { kind: 'captured' }>
const kept = entries.filter((entry): entry is Kept => entry.kind === 'captured')

test('every value that the job says it captured was written down first, under its own number', () => {
  expect(kept.map(({ number }) => number)).toEqual(run.outcome.captured.map(({ number }) => number))
  expect(kept.length).toBeGreaterThanOrEqual(11)
})

test.each(kept.map((one) => [`${one.number} ${one.title}, ${one.quantity}`, one] as const))(
  'recomputed from its evidence, after a way through JSON, to the last digit: %s',
  (_, one) => {
    const evidence = Evidence.parse(JSON.parse(JSON.stringify(one.evidence)))
    const figures = recompute(evidence)
    expect(Object.keys(figures ?? {})).toHaveLength(14)
    expect(one).toMatchObject({ ...figures })
  },
)

test('a reading changed in the evidence changes the value', () => {
  const one = kept.find(({ quantity }) => quantity === 'DC voltage')
  if (!one) throw new TypeError('no voltage was captured')
  const readings = one.evidence.readings.map((reading) => ({ ...reading, value: reading.value + 0.01 }))
  expect(recompute(one.evidence, readings)?.value).toBeCloseTo(
    one.value + 0.01 * 1.01 ** (one.evidence.seriesOhms > 0 ? 1 : 0),
    4,
  )
})

test('results and the end of each step are written down too', () => {
  const done = entries.flatMap((entry) => (entry.kind === 'step' && entry.state === 'done' ? [entry.step] : []))
  expect(done).toEqual(['plug-volts', 'control-voltage', 'frequency', 'drive', 'power', 'power-normal', 'deviation'])
})
