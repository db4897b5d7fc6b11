import { expect, test } from 'vitest'
import { patienceWith } from '../../src/commands/look.ts'
import { quietMeter } from '../kit/job/job-bench.ts'

test.each([
  ['a quick row', 200, 0, 10_500],
  ['a row that takes 20 s', 20_000, 0, 50_000],
  ['a gate of 100 s', 200, 100_000, 210_000],
])('look waits longer than its row takes: %s', (_, latencyMs, gateMs, ms) => {
  expect(patienceWith(quietMeter('frequency', { everyMs: 250, latencyMs, gateMs }))).toBe(ms)
})
