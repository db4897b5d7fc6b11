import type { SimulatedBench } from '../../../mocks/simulated-bench.ts'
import type { Bench } from '../../../src/bench/bench.ts'
import { loadBench } from '../../../src/bench/load-bench.ts'
import { openBench } from '../../../src/bench/open-bench.ts'
import { openSupplyPort } from '../../../src/instrument/supply.ts'
import { openKeeperHere } from '../../../src/keeper/service/keeper-here.ts'
import type { Supply, SupplyLimits, Wish } from '../../../src/keeper/service/supply.ts'
import type { Clock } from '../../../src/system/clock.ts'
import { silentLog } from '../../../src/system/log.ts'
import { seededRng } from '../../../src/system/rng.ts'
import type { MemoryNet } from '../../../src/transport/port/byte-port.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { never } from '../links/instrument-deps.ts'

/** Of the Brackwater 27-M, transmit side. */
export const LIMITS: SupplyLimits = {
  ceilingVolts: 16,
  tripVolts: 16.5,
  ceilingAmps: 2.5,
  normalVolts: 13.8,
  receiveAmps: 0.8,
  keyedAboveAmps: 0.55,
}
/** 0.5 uV on channel 20, 1.2 kHz of deviation. */
export const WEAK = { frequency: 27.205e6, 'RF level': 0.5e-6, 'FM deviation': 1200 }

/** The bench with both sides: simulated radio, supply and generator, a keeper in this process, the bench over them. */
export interface BothSides {
  readonly world: SimulatedBench
  readonly bench: Bench
  /** What the bench said of the supply by itself, in its words. */
  readonly said: { readonly words: string; readonly proved: boolean }[]
  /** A wish with its limits told. */
  wish(limits?: Partial<SupplyLimits>): Promise<Wish>
  /** 13.8 V, output on, current limit as asked. */
  feed(amps: number, limits?: Partial<SupplyLimits>): Promise<Wish>
  close(): Promise<void>
}

/** `memory`: the net of the simulated bench where it has no sockets. */
export async function bothSides(
  world: SimulatedBench,
  deps: { readonly clock: Clock; readonly memory?: MemoryNet },
): Promise<BothSides> {
  const { file, drivers } = loadBench('mocks/benches/both-sides.yaml', 'drivers')
  const entry = file.entries.find(({ name }) => name === 'supply')
  const driver = drivers.get('supply-scpi')
  if (!entry || !driver) throw new TypeError('the simulated bench has a supply')
  const all = { ...deps, rng: seededRng(3), log: silentLog }
  const wait = { ms: 10_000, signal: never() }
  const port = await openSupplyPort({ ...entry, at: world.addresses.supply }, driver, all, wait)
  const real: Supply = await openKeeperHere({
    port,
    ceilingVolts: 16.5,
    ceilingAmps: 4,
    dataFolder: null,
    deps: all,
    signal: never(),
  })
  const bench = await openBench({
    file,
    drivers,
    deps: all,
    supply: real,
    addresses: world.addresses,
    signal: never(),
  })
  const said: { words: string; proved: boolean }[] = []
  bench.supply.onActed(({ why, proved }) => said.push({ words: sentence(why), proved }))
  const wish = async (limits: Partial<SupplyLimits> = {}) => {
    const one = bench.supply.wish()
    await one.limits({ ...LIMITS, ...limits })
    return one
  }
  return {
    world,
    bench,
    said,
    wish,
    feed: async (amps, limits) => {
      const one = await wish(limits)
      await one.set(13.8, amps)
      await one.on()
      await one.set(13.8, amps)
      return one
    },
    close: async () => {
      await real.close()
      await bench.close()
    },
  }
}
