import { expect, test } from 'vitest'
import { typedIn } from '../../src/alignment/type-in.ts'
import type { Job } from '../../src/core/job/state/job-types.ts'
import { JobBench, METERS } from '../kit/job/job-bench.ts'

/** The power of a step of 3.6 .. 4.0 W is typed on a bench where a person reads it. */
function typing(text: string, sure?: boolean) {
  const meters = METERS.map((meter) => (meter.quantity === 'RF power' ? { ...meter, typed: true } : meter))
  const bench = new JobBench(meters)
  bench.ask({ kind: 'open step', step: 'power' })
  const typed: number[] = []
  const job: Job = bench.job
  const here: Parameters<typeof typedIn>[1] = {
    meters,
    typeIn: (quantity, value, raw) => {
      typed.push(value)
      return { quantity, value, raw, instrument: 'power', epoch: 0, beganMs: 0, arrivedMs: 0, state: 'good' }
    },
  }
  const asked = { kind: 'type in', id: 'a', quantity: 'RF power', text, ...(sure ? { sure } : {}) } as const
  return { answer: typedIn(asked, here, job), typed }
}

test('a value that looks ten times off is asked back about, and taken where it comes again as sure', () => {
  const first = typing('39 W')
  expect(first.answer).toMatchObject({ ok: false, asksBack: true })
  expect(first.typed).toEqual([])
  expect(typing('39 W', true)).toEqual({ answer: { ok: true, words: 'typed' }, typed: [39] })
})

test.each(['39 X', '', '1 / 2 / 3 W'])('"%s" is refused, and nothing is asked back', (text) => {
  const { answer, typed } = typing(text)
  expect(answer.ok).toBe(false)
  expect(answer).not.toHaveProperty('asksBack')
  expect(typed).toEqual([])
})
