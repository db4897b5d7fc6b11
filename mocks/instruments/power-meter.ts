import { sleep } from '../../src/system/clock.ts'
import { normal, type Rng } from '../../src/system/rng.ts'
import type { Plant } from '../plant/plant.ts'
import { type Command, choicePair, type Measurement, measurement } from '../unit/command-table.ts'
import { createInstrument, type SimulatedInstrument } from '../unit/instrument.ts'
import type { InstrumentSurroundings } from '../unit/line-session.ts'

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
 * | `UNIT:POWer W\|DBM`, `...?` | unit of the reading; W after reset, DBM after power-on |
 *
 * First-order lag that is 95 % there after 0.3 s, 0.5 % noise, steps of 0.01 mW.
 */
export function createPowerMeter(plant: Plant, around: InstrumentSurroundings, serial: string): SimulatedInstrument {
  const sensing = createPowerSensing(plant, around, { lossDb: PATH_LOSS_DB, stepWatts: STEP_WATTS })
  return createInstrument(
    {
      name: 'power',
      kind: 'POWER METER',
      serial,
      commands: [...measurement(':POWer[:AC]?', sensing.meter), ...sensing.commands],
      reset: sensing.reset,
      wake: sensing.wake,
    },
    around,
  )
}

/** What measures RF power, whatever box it is in: the measurement, its unit, and what *RST does. */
export function createPowerSensing(
  plant: Plant,
  around: InstrumentSurroundings,
  about: { readonly lossDb: number; readonly stepWatts: number },
): {
  readonly meter: Measurement
  readonly commands: readonly Command[]
  readonly reset: () => void
  readonly wake: () => void
} {
  const { clock, rng } = around
  const { stepWatts } = about
  const head = createPowerHead(plant, rng, about.lossDb)
  let unit: 'W' | 'DBM' = 'W'
  return {
    meter: {
      digits: 3,
      take: async (signal) => {
        await sleep(clock, EVERY_MS, signal)
        const watts = Math.max(Math.round(head.watts() / stepWatts) * stepWatts, 0)
        return [unit === 'W' ? watts : 10 * Math.log10(Math.max(watts, stepWatts / 2) / 1e-3)]
      },
    },
    commands: choicePair(
      'UNIT:POWer',
      ['W', 'DBM'],
      () => unit,
      (word) => {
        unit = word
      },
    ),
    reset: () => {
      unit = 'W'
    },
    wake: () => {
      unit = 'DBM'
    },
  }
}

/** A power head behind `lossDb`: first-order lag of `lagMs`, 0.5 % noise. What it would show now, W at the head. */
export function createPowerHead(plant: Plant, rng: Rng, lossDb: number, lagMs = LAG_MS): { watts(): number } {
  let headWatts = 0
  plant.follow((dtMs, during) => {
    const arriving = during.loadWatts * 10 ** (-lossDb / 10)
    headWatts = arriving + (headWatts - arriving) * Math.exp(-dtMs / lagMs)
  })
  return {
    watts: () => {
      plant.observe()
      return headWatts * (1 + NOISE_OF_READING * normal(rng))
    },
  }
}

const EVERY_MS = 250
/** A third of the latency that its data sheet states. */
const LAG_MS = 100
const NOISE_OF_READING = 0.005
const STEP_WATTS = 1e-5
