import { loadBench } from '../../../src/bench/load-bench.ts'
import { openBench } from '../../../src/bench/open-bench.ts'
import { openSupplyPort } from '../../../src/instrument/supply.ts'
import type { Quantity } from '../../../src/quantity/quantity.ts'
import type { Reading } from '../../../src/schema/kept/reading.ts'
import { silentLog } from '../../../src/system/log.ts'
import { seededRng } from '../../../src/system/rng.ts'
import { memoryBench } from '../../mocks/kit.ts'
import { fakeSupply } from '../links/fake-supply.ts'
import { never } from '../links/instrument-deps.ts'

/** The simulated bench with its supply at 13.8 V, opened by the bench file, on one clock. */
export async function simulatedBench(seed = 3) {
  const { clock, bench: world } = await memoryBench()
  const { file, drivers } = loadBench('mocks/benches/separate.yaml', 'drivers')
  const deps = { clock, rng: seededRng(seed), log: silentLog, memory: world.net }
  const entry = file.entries.find(({ name }) => name === 'supply')
  const driver = drivers.get('supply-scpi')
  if (!entry || !driver) throw new TypeError('the simulated bench has a supply')
  const wait = () => ({ ms: 10_000, signal: never() })
  const port = await clock.runUntil(openSupplyPort({ ...entry, at: world.addresses.supply }, driver, deps, wait()))
  await clock.runUntil(port.setAmps(2.5, wait()))
  await clock.runUntil(port.setTrip(16.5, wait()))
  await clock.runUntil(port.setVolts(13.8, wait()))
  await clock.runUntil(port.output(true, wait()))
  const supply = fakeSupply(true)
  const opening = openBench({ file, drivers, deps, supply, addresses: world.addresses, signal: never() })
  const bench = await clock.runUntil(opening)
  const readings: Reading[] = []
  const news: string[] = []
  bench.onReading((reading) => readings.push(reading))
  bench.onLink(({ instrument, up, fault, missed }) =>
    news.push(`${instrument} ${missed ? 'missed' : up ? 'up' : fault?.code}`),
  )
  const last = (quantity: Quantity) => readings.findLast((reading) => reading.quantity === quantity)
  return { clock, world, port, wait, bench, readings, news, last, close: () => clock.runUntil(bench.close()) }
}
