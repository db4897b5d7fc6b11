import type { MemoryPort } from '../../mocks/links/memory-net.ts'
import {
  type InstrumentName,
  openSimulatedBench,
  type SimulatedBench,
  type SimulatedBenchSetting,
} from '../../mocks/simulated-bench.ts'
import { sleep } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { type VirtualClock, virtualClock } from '../../src/system/virtual-clock.ts'

/** A client of one simulated instrument over memory: sends a line, waits for lines on the bench clock. */
export interface Client {
  tell(text: string): Promise<void>
  /** The reply line without its terminator, or null when none came within `ms`. */
  ask(text: string, ms?: number): Promise<string | null>
  /** Everything that arrived and was not taken as a line, latin1. */
  rest(): string
  readonly port: MemoryPort
  gone(): string | null
}

/** The simulated bench in memory on a clock of its own. */
export interface MemoryBench {
  readonly clock: VirtualClock
  readonly bench: SimulatedBench
  /** `end`: what ends its lines, LF unless said otherwise. */
  client(name: InstrumentName, end?: '\n' | '\r'): Client
  /** Supply at `volts`, output on, 0.5 s passed. */
  power(volts: number, amps?: number): Promise<void>
  /** Runs `act` while the clock moves. */
  run<T>(act: () => Promise<T>): Promise<T>
}

export async function memoryBench(more: Partial<SimulatedBenchSetting> = {}): Promise<MemoryBench> {
  const clock = virtualClock()
  const signal = new AbortController().signal
  const bench = await openSimulatedBench({
    clock,
    rng: seededRng(5),
    log: silentLog,
    links: 'memory',
    signal,
    seed: null,
    ...more,
  })
  const run = <T>(act: () => Promise<T>) => clock.runUntil(act())
  const client: MemoryBench['client'] = (name, end) => clientOf(clock, bench.net.connect(name), end)
  return {
    clock,
    bench,
    client,
    run,
    power: (volts, amps = 2.5) =>
      run(async () => {
        const supply = client('supply')
        await supply.tell(`VOLT ${volts};:CURR ${amps};:OUTP ON`)
        await sleep(clock, 500, signal)
      }),
  }
}

/** A client on a port of the net. */
export function clientOf(clock: VirtualClock, port: MemoryPort, end: '\n' | '\r' = '\n'): Client {
  let buffer = ''
  let gone: string | null = null
  let wake: () => void = () => {}
  port.onBytes((bytes) => {
    buffer += bytes.toString('latin1')
    wake()
  })
  port.onGone((reason) => {
    gone = reason.message
    wake()
  })
  const line = (): string | null => {
    const at = buffer.indexOf(end)
    if (at < 0) return null
    const text = buffer.slice(0, at)
    buffer = buffer.slice(at + 1)
    return text
  }
  return {
    port,
    gone: () => gone,
    rest: () => buffer,
    tell: async (text) => port.write(`${text}${end}`),
    ask: async (text, ms = 3000) => {
      await port.write(`${text}${end}`)
      const waiting = new AbortController()
      const deadline = sleep(clock, ms, waiting.signal).catch(() => {})
      try {
        for (;;) {
          const text = line()
          if (text !== null) return text
          let over = false
          await Promise.race([
            new Promise<void>((resolve) => {
              wake = resolve
            }),
            deadline.then(() => {
              over = true
            }),
          ])
          if (over || gone) return line()
        }
      } finally {
        waiting.abort()
      }
    },
  }
}

/** The number in a reply; NaN for anything that is not one. */
export function numberOf(reply: string | null): number {
  return reply !== null && /^[+-]?\d+(\.\d+)?(E[+-]\d+)?$/.test(reply) ? Number(reply) : Number.NaN
}

/** Mean and standard deviation. */
export function spreadOf(values: readonly number[]): { readonly mean: number; readonly sigma: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  return { mean, sigma: Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1)) }
}
