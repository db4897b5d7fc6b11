import { describe, expect, test } from 'vitest'
import { noRf } from '../../../../src/core/job/state/job-seen.ts'
import type { ReadingState } from '../../../../src/schema/kept/reading.ts'
import { sentence } from '../../../../src/words/sentence/sentence.ts'
import { JobBench } from '../../../kit/job/job-bench.ts'

/** Keyed for 3 s, and the power meter has answered this. */
function keyedWith(state: ReadingState, value: number | null): string {
  const bench = new JobBench()
  bench.begin('power')
  bench.key(true)
  bench.run(2)
  bench.feed({
    kind: 'reading',
    reading: {
      quantity: 'RF power',
      instrument: 'RF power meter',
      epoch: bench.epoch,
      beganMs: bench.nowMs - 100,
      arrivedMs: bench.nowMs,
      raw: 'x',
      value,
      state,
    },
    atMs: bench.nowMs,
  })
  return sentence(noRf(bench.job))
}

describe('keyed, and the power meter answers', () => {
  test.each<ReadingState>(['over', 'unreadable', 'blank', 'not a number', 'stale'])(
    '"%s": that is no silence, nobody is asked for the load',
    (state) => {
      expect(keyedWith(state, null)).toBe('')
    },
  )

  test.each<[ReadingState, number | null]>([
    ['good', 0.01],
    ['under', null],
    ['no signal', null],
  ])('"%s" with %s W: no RF', (state, value) => {
    expect(keyedWith(state, value)).toMatch(/no RF power/)
  })

  test('4 W: nothing to say', () => {
    expect(keyedWith('good', 4)).toBe('')
  })
})
