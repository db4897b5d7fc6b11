import type { Bench } from '../../../src/bench/bench.ts'
import type { Supply } from '../../../src/keeper/service/supply.ts'
import type { Clock } from '../../../src/system/clock.ts'
import { METERS } from './job-bench.ts'

/** A bench with a real keeper's client for its supply, meters that say nothing, and an oscillator that takes `toneMs` to answer. */
export function stubBench(supply: Supply, clock: Clock, toneMs: number): Bench {
  let epoch = 0
  const never = () => () => {}
  return {
    name: 'stub',
    simulated: true,
    supply,
    supplyTrip: 'own',
    instruments: () => [],
    meters: METERS,
    watch: () => {},
    get epoch() {
      return epoch
    },
    raiseEpoch: () => ++epoch,
    sources: [{ name: 'audio tone', instrument: 'oscillator' }],
    source: () => ({ there: true, set: (_signal, abort) => clock.sleepUntil(clock.nowMs() + toneMs, abort) }),
    typeIn: () => {
      throw new TypeError('nothing is typed here')
    },
    onReading: never,
    onLink: never,
    onSupply: (listener) => supply.onState(listener),
    close: async () => {},
  }
}
