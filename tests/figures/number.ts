import { INSTRUMENT_FAULTS, type InstrumentFault } from '../../mocks/unit/faults.ts'
import type { Quantity } from '../../src/quantity/quantity.ts'
import type { Reading } from '../../src/schema/kept/reading.ts'
import { simulatedBench } from '../kit/job/simulated-bench.ts'
import { never } from '../kit/links/instrument-deps.ts'
import type { Figure } from './figure.ts'

const SEEDS = [1, 2, 3, 4, 5]
/** A share of the replies is struck. */
const SHARE = 0.3
const BEFORE_MS = 3000
const DURING_MS = 14_000
/** What a reading may lie away from that of a bench without the fault at the same moment; a wrong digit, unit or answer is far more. */
const METERS: readonly {
  readonly quantity: Quantity
  readonly instrument: string
  readonly within: (value: number) => number
}[] = [
  { quantity: 'DC voltage', instrument: 'volts', within: () => 0.05 },
  { quantity: 'RF power', instrument: 'power', within: (value) => 0.06 * value },
  { quantity: 'frequency', instrument: 'counter', within: () => 60 },
  { quantity: 'FM deviation', instrument: 'modmeter', within: (value) => 0.06 * value },
]
/** Of the link and of the instrument; what falsifies the measurement itself (pickup, a gate half full) no link can tell. */
const FAULTS = Object.entries(INSTRUMENT_FAULTS)
  .filter(
    ([name, { strikes }]) => ['reply', 'link', 'itself'].includes(strikes) || ['overrange', 'blank'].includes(name),
  )
  .map(([name]) => name as InstrumentFault)

/**
 * number.wrong: readings that were given on as good while a fault of the link or the instrument struck and that the radio did not have,
 * held against the same bench and seed without the fault.
 */
export async function numberFigures(): Promise<readonly Figure[]> {
  const missed: string[] = []
  let good = 0
  let trials = 0
  for (const meter of METERS)
    for (const seed of SEEDS) {
      const truth = await readAll(meter.quantity, meter.instrument, seed, null)
      for (const fault of FAULTS) {
        trials += 1
        for (const reading of await readAll(meter.quantity, meter.instrument, seed, fault)) {
          good += 1
          const near = truth.reduce((best, one) =>
            Math.abs(one.beganMs - reading.beganMs) < Math.abs(best.beganMs - reading.beganMs) ? one : best,
          )
          const [is, was] = [reading.value ?? Number.NaN, near.value ?? Number.NaN]
          if (!(Math.abs(is - was) <= meter.within(was)))
            missed.push(
              `${meter.quantity}, ${fault}, seed ${seed}, ${reading.beganMs.toFixed(0)} ms: ${is} where ${was} was there`,
            )
        }
      }
    }
  const against = `none of ${good} good readings in ${trials} trials (${FAULTS.length} faults of link and instrument, ${METERS.length} meters, seeds ${SEEDS.join(' ')}), held against the same bench without the fault at the same moment`
  return [
    {
      name: 'number.wrong',
      ours: missed.length,
      reference: 0,
      ratio: missed.length,
      unit: 'readings',
      against,
      missed,
    },
  ]
}

/** The good readings of a keyed radio with a tone, while the fault strikes; without one all of them. */
async function readAll(
  quantity: Quantity,
  instrument: string,
  seed: number,
  fault: InstrumentFault | null,
): Promise<readonly Reading[]> {
  const { clock, world, bench, readings, close } = await simulatedBench(seed)
  await clock.runUntil(bench.source('audio tone').set({ 'audio tone': 1000, 'audio level': 0.03 }, never()))
  world.set.prod('plug')
  world.set.common('strip')
  world.set.microphone('oscillator')
  world.set.channel(20)
  world.set.key(true)
  bench.raiseEpoch('key')
  bench.watch([quantity])
  await clock.advance(BEFORE_MS + 137 * seed)
  const fromMs = clock.nowMs()
  if (fault) world.faults.set(instrument, fault, { kind: 'chance', share: SHARE })
  await clock.advance(DURING_MS)
  await close()
  return readings.filter(
    (one) => one.state === 'good' && one.quantity === quantity && (fault === null || one.beganMs >= fromMs),
  )
}
