import type { Bench } from '../bench/bench.ts'
import { goalOf } from '../core/goal/goal.ts'
import { meterFor } from '../core/goal/meter-for.ts'
import { advanceWatch, startWatch, type Watch, type WatchEvent, watchFrame } from '../core/guidance/watch.ts'
import { BenchError } from '../fault/bench-error.ts'
import { readTarget } from '../quantity/parse-target.ts'
import { QUANTITY_NAMES, type Quantity } from '../quantity/quantity.ts'
import type { FromPage, LiveFrame } from '../schema/messages/live-frame.ts'
import type { Deps } from '../system/deps.ts'
import type { Words } from '../words/said/said.ts'
import type { FrameFacts } from './broken-job.ts'

/** The watch that is asked for; or in words why it cannot be. */
export function watchFor(
  asked: Extract<FromPage, { kind: 'watch' }>,
  bench: Pick<Bench, 'name' | 'meters'>,
  nowMs: number,
): { readonly ok: true; readonly watch: Watch } | { readonly ok: false; readonly words: Words } {
  const quantity = QUANTITY_NAMES.find((name) => name === asked.quantity)
  const all = bench.meters.filter((meter) => meter.quantity === quantity)
  const facts = quantity && (meterFor(all, quantity, null) ?? all[0])
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

/** What is just watched, if anything. One that throws, in the fold or while it is drawn, is given up. */
export interface Watching {
  quantity(): Quantity | undefined
  begin(watch: Watch): void
  end(): void
  feed(event: WatchEvent): void
  /** Null while nothing is watched. */
  frame(facts: FrameFacts): LiveFrame | null
}

/** `touched` is told of each event that a watch takes. */
export function openWatching({ clock, log }: Pick<Deps, 'clock' | 'log'>, touched: () => void): Watching {
  let watch: Watch | null = null

  const giveUp = (error: unknown) => {
    log.error({ error }, 'what is watched cannot be shown: it is given up')
    watch = null
  }

  return {
    quantity: () => watch?.live.quantity,
    begin: (one) => {
      watch = one
    },
    end: () => {
      watch = null
    },
    feed: (event) => {
      if (!watch) return
      touched()
      try {
        watch = advanceWatch(watch, event, clock.nowMs())
      } catch (error) {
        giveUp(error)
      }
    },
    frame: (facts) => {
      try {
        return watch && watchFrame(watch, facts)
      } catch (error) {
        giveUp(error)
        return null
      }
    },
  }
}
