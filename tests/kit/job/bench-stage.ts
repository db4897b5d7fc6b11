import type { Bench, LinkNews } from '../../../src/bench/bench.ts'
import { openBench } from '../../../src/bench/open-bench.ts'
import { loadDriver } from '../../../src/instrument/load-driver.ts'
import { BenchFile } from '../../../src/schema/files/bench-file.ts'
import type { Reading } from '../../../src/schema/kept/reading.ts'
import { fakeSupply } from '../links/fake-supply.ts'
import { instrumentDeps, never } from '../links/instrument-deps.ts'
import type { Answer } from '../links/scripted-instrument.ts'

const DRIVERS = [
  'power-meter-scpi',
  'multimeter-scpi',
  'counter-scpi',
  'modulation-meter-scpi',
  'audio-oscillator-scpi',
  'supply-scpi',
  'typed-in',
]
const drivers = new Map(DRIVERS.map((id) => [id, loadDriver('drivers', id)]))

/** Instruments on the test's clock, and the bench over them when it is opened. */
export function benchStage(instruments: Record<string, Record<string, unknown>>) {
  const { clock, add, deps } = instrumentDeps()
  const supply = fakeSupply(false)
  const file = BenchFile.parse({ bench: 'Test bench', instruments })
  const readings: Reading[] = []
  const news: (LinkNews & { readonly atMs: number })[] = []
  const misses: (LinkNews & { readonly atMs: number })[] = []
  return {
    clock,
    deps,
    supply,
    readings,
    news,
    /** Replies that were missed while the link stood. */
    misses,
    /** A scripted instrument with an identity of its own. */
    script: (name: string, answers: Record<string, Answer>, identity = `EXAMPLE,${name.toUpperCase()},1,1.0`) =>
      add(name, identity, answers),
    options: { file, drivers, deps, supply, signal: never() },
    open: async (more: Partial<Parameters<typeof openBench>[0]> = {}): Promise<Bench> => {
      const bench = await clock.runUntil(openBench({ file, drivers, deps, supply, signal: never(), ...more }))
      bench.onReading((reading) => readings.push(reading))
      bench.onLink((one) => (one.missed ? misses : news).push({ ...one, atMs: clock.nowMs() }))
      return bench
    },
  }
}
