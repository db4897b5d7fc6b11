import { expect, test } from 'vitest'
import type { Kept } from '../../../src/core/reading/capture.ts'
import { recompute } from '../../../src/core/reading/evidence.ts'
import { Evidence } from '../../../src/schema/kept/evidence.ts'
import { JobBench } from '../../kit/job/job-bench.ts'

/** A control voltage that drifts by so many volts a second while the set-to step is open, asked to be captured after 12 s. */
function captured(perS: number, from: number): { readonly bench: JobBench; readonly kept: Kept | undefined } {
  const bench = new JobBench()
  bench.begin('control-voltage')
  const startMs = bench.nowMs
  while (bench.nowMs < startMs + 12_000) {
    bench.shows.set('DC voltage', (from + (perS * (bench.nowMs - startMs)) / 1000) / 1.01)
    bench.run(0.25)
  }
  bench.ask({ kind: 'capture', by: 'key' })
  const kept = bench.did('keep').flatMap((effect) => (effect.kind === 'keep' ? effect.taken : []))[0]
  return { bench, kept }
}

test('asked for while it drifts evenly and stays in its band for 15 s: captured as drifting, with its slope and the doubt of the end of its line', () => {
  const { kept } = captured(0.011, 2.25)
  expect(kept).toMatchObject({ label: 'drifting', verdict: 'inside', by: 'key' })
  expect(kept?.slope).toBeCloseTo(0.011, 3)
  expect(kept?.value).toBeCloseTo(2.25 + 0.011 * 12, 2)
  if (!kept) throw new TypeError('nothing kept')
  const again = recompute(Evidence.parse(JSON.parse(JSON.stringify(kept.evidence))))
  expect(kept).toMatchObject({ ...again })
  expect(again?.slope).toBe(kept.slope)
})

test('too fast to be in its band 15 s later: a short reading, not a drifting one', () => {
  const { kept } = captured(0.011, 2.4)
  expect(kept?.label).toBe('short')
  expect(kept?.slope).toBeUndefined()
})

test('steady: settled', () => expect(captured(0, 2.35).kept?.label).toBe('settled'))
