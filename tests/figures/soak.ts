import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { openFastBench } from '../../src/commands/job/fast-bench.ts'
import { sleep } from '../../src/system/clock.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import type { Figure } from './figure.ts'

const HOURS = 24
const HOUR_MS = 3_600_000
const PROCEDURE = 'procedures/brackwater-27m-transmit.yaml'

/** soak: heap after the last hour of a day of readings / after its first hour. Bench, keeper, session and supply run all day on the clock that jumps. */
export function soakFigures(): Promise<readonly Figure[]> {
  setFlagsFromString('--expose-gc')
  const collect: () => void = runInNewContext('gc')
  const clock = virtualClock()
  return clock.runUntil(
    (async () => {
      const bench = await openFastBench({ procedure: PROCEDURE, seed: null, warm: true }, clock)
      try {
        let readings = 0
        let last = -1
        bench.session.onFrame(({ reading }) => {
          if (!reading || reading.arrivedMs === last) return
          last = reading.arrivedMs
          readings += 1
        })
        const watch = { kind: 'watch', id: 'soak', quantity: 'DC voltage', target: '13.75 .. 13.85 V' } as const
        const { ok, words } = await bench.session.request(watch)
        if (!ok) throw new Error(sentence(words))
        const heaps: number[] = []
        for (let hour = 0; hour < HOURS; hour += 1) {
          await sleep(clock, HOUR_MS, bench.signal)
          collect()
          collect()
          heaps.push(process.memoryUsage().heapUsed / 2 ** 20)
        }
        const [first = Number.NaN, ours = first] = [heaps[0], heaps.at(-1)]
        const against = `heap in use after the first hour; ours: after hour ${HOURS} of ${readings} readings of the voltmeter, the other meters polled beside it; largest ${Math.max(...heaps).toFixed(1)} MiB; to reach at most 1.05`
        return [{ name: 'soak', ours, reference: first, ratio: ours / first, unit: 'MiB', against }]
      } finally {
        await bench.close()
      }
    })(),
  )
}
