import { sleep } from '../../src/system/clock.ts'
import { normal } from '../../src/system/rng.ts'
import { choicePair, type Measurement, measurement } from '../command-table.ts'
import { createInstrument, type InstrumentSurroundings, type SimulatedInstrument } from '../instrument.ts'
import type { Plant } from '../plant/plant.ts'

/** What lies between the set's aerial socket and the power head, dB. */
export const PATH_LOSS_DB = 30

/**
 * RF power meter behind 30.00 dB, `TRIMWRIGHT SIMULATED,POWER METER,...`. It shows what arrives at its head: 4 W at the set are 4 mW here.
 *
 * | header | what it does |
 * | --- | --- |
 * | `READ[:SCALar]:POWer[:AC]?` | a new reading after 0.25 s, NR3, in the unit chosen (W) |
 * | `MEASure[:SCALar]:POWer[:AC]?` | the same |
 * | `FETCh[:SCALar]:POWer[:AC]?` | the last value again; -230 before the first |
 * | `UNIT:POWer W\|DBM`, `...?` | unit of the reading; W after reset |
 *
 * First-order lag that is 95 % there after 0.3 s, 0.5 % noise, steps of 0.01 mW.
 */
export function createPowerMeter(plant: Plant, around: InstrumentSurroundings, serial: string): SimulatedInstrument {
  const { clock, rng } = around
  let headWatts = 0
  let unit: 'W' | 'DBM' = 'W'

  plant.follow((dtMs, during) => {
    const arriving = during.loadWatts * 10 ** (-PATH_LOSS_DB / 10)
    headWatts = arriving + (headWatts - arriving) * Math.exp(-dtMs / LAG_MS)
  })

  const meter: Measurement = {
    digits: 3,
    take: async (signal) => {
      await sleep(clock, EVERY_MS, signal)
      plant.observe()
      const noisy = headWatts * (1 + NOISE_OF_READING * normal(rng))
      const watts = Math.max(Math.round(noisy / STEP_WATTS) * STEP_WATTS, 0)
      return [unit === 'W' ? watts : 10 * Math.log10(Math.max(watts, STEP_WATTS / 2) / 1e-3)]
    },
  }
  return createInstrument(
    {
      name: 'power',
      kind: 'POWER METER',
      serial,
      commands: [
        ...measurement(':POWer[:AC]?', meter),
        ...choicePair(
          'UNIT:POWer',
          ['W', 'DBM'],
          () => unit,
          (word) => {
            unit = word
          },
        ),
      ],
      reset: () => {
        unit = 'W'
      },
    },
    around,
  )
}

const EVERY_MS = 250
/** A third of the latency that its data sheet states. */
const LAG_MS = 100
const NOISE_OF_READING = 0.005
const STEP_WATTS = 1e-5
