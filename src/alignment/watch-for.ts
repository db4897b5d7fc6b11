import type { Bench } from '../bench/bench.ts'
import { goalOf } from '../core/goal/goal.ts'
import { startWatch, type Watch } from '../core/guidance/watch.ts'
import { BenchError } from '../fault/bench-error.ts'
import { readTarget } from '../quantity/parse-target.ts'
import { QUANTITY_NAMES } from '../quantity/quantity.ts'
import type { FromPage } from '../schema/messages/live-frame.ts'

/** The watch that is asked for; or in words why it cannot be. */
export function watchFor(
  asked: Extract<FromPage, { kind: 'watch' }>,
  bench: Pick<Bench, 'name' | 'meters'>,
  nowMs: number,
): { readonly ok: true; readonly watch: Watch } | { readonly ok: false; readonly words: string } {
  const quantity = QUANTITY_NAMES.find((name) => name === asked.quantity)
  const facts = bench.meters.find((meter) => meter.quantity === quantity)
  if (!quantity || !facts) {
    const happened = `nobody on this bench measures ${asked.quantity}`
    return { ok: false, words: new BenchError('BENCH_NOBODY_MEASURES', bench.name, happened).message }
  }
  const target = readTarget(asked.target, quantity)
  if (!target.ok) return { ok: false, words: target.refused }
  const goal = goalOf(target.value, null, { aim: null, rule: null })
  if (!goal) return { ok: false, words: 'which channel? Write the frequency, for example 27.205 MHz +- 150 Hz' }
  return { ok: true, watch: startWatch(facts, goal, asked.target, nowMs) }
}
