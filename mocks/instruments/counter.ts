import { sleep } from '../../src/system/clock.ts'
import { normal } from '../../src/system/rng.ts'
import type { Observation, Plant } from '../plant/plant.ts'
import { type Command, type Measurement, measurement, numberPair, query } from '../unit/command-table.ts'
import { createInstrument, type SimulatedInstrument } from '../unit/instrument.ts'
import type { InstrumentSurroundings } from '../unit/line-session.ts'

/**
 * Frequency counter on the sample of the load, `TRIMWRIGHT SIMULATED,COUNTER,...`.
 *
 * | header | what it does |
 * | --- | --- |
 * | `READ[:SCALar][:VOLTage]:FREQuency?` | opens a gate, replies when it has closed: Hz, NR3 |
 * | `MEASure[:SCALar][:VOLTage]:FREQuency?` | the same |
 * | `FETCh[:SCALar][:VOLTage]:FREQuency?` | the last value again; -230 before the first |
 * | `[:SENSe]:FREQuency:APERture s`, `...?` | gate time: 0.1, 1 or 10 s, the nearest is taken; outside 0.1 .. 10 s is -222; 0.1 s after power-on |
 * | `[:SENSe]:FREQuency:GATE:TIME s`, `...?` | the same |
 * | `[:SENSe]:ROSCillator:SOURce?` | `INT` |
 *
 * Without a carrier through the whole gate: 9.91E+37. With modulation on, the gate averages it and a part cycle is left over.
 */
export function createCounter(
  plant: Plant,
  around: InstrumentSurroundings,
  timebasePpm: number,
  serial: string,
): SimulatedInstrument {
  const counting = createCounting(plant, around, timebasePpm, 'counter')
  return createInstrument(
    {
      name: 'counter',
      kind: 'COUNTER',
      serial,
      commands: [...measurement('[:VOLTage]:FREQuency?', counting.meter), ...counting.commands],
      reset: counting.reset,
      wake: counting.wake,
    },
    around,
  )
}

/** What counts, whatever box it is in: the measurement, the settings of its gate, and what *RST does. `name`: the box, for its faults. */
export function createCounting(
  plant: Plant,
  around: InstrumentSurroundings,
  timebasePpm: number,
  name: string,
): {
  readonly meter: Measurement
  readonly commands: readonly Command[]
  readonly reset: () => void
  readonly wake: () => void
} {
  const { clock, rng, faults } = around
  let gateSeconds = 1
  const gate = new Gate(plant)

  const meter: Measurement = {
    digits: 7,
    take: async (signal) => {
      gate.open()
      try {
        await sleep(clock, gateSeconds * 1000, signal)
        plant.observe()
      } finally {
        gate.close()
      }
      await sleep(clock, REST_MS, signal)
      // A computer's clock wakes late: what counts is how long the gate was really open.
      const { openMs, carrierMs, cycles, toneHz, deviationHz } = gate
      const complete = openMs - carrierMs < LEAST_MISSING_MS
      if (!complete && (carrierMs === 0 || !faults.strikes(name, 'partial gate'))) return [Number.NaN]
      const stepHz = 1 / gateSeconds
      const leftOverHz = toneHz > 0 ? partCycleHz(deviationHz, toneHz, gateSeconds, rng(), rng()) : 0
      const hz = ((1000 * cycles) / openMs + leftOverHz) * (1 + timebasePpm * 1e-6) + normal(rng) * stepHz
      return [Math.round(hz / stepHz) * stepHz]
    },
  }
  const aperture = {
    unit: 'S',
    low: 0.1,
    high: 10,
    preset: 1,
    digits: 2,
    get: () => gateSeconds,
    set: (seconds: number) => {
      gateSeconds = 10 ** Math.round(Math.log10(seconds))
      return undefined
    },
  } as const

  return {
    meter,
    commands: [
      ...numberPair('[:SENSe]:FREQuency:APERture', aperture),
      ...numberPair('[:SENSe]:FREQuency:GATE:TIME', aperture),
      query('[:SENSe]:ROSCillator:SOURce?', () => 'INT'),
    ],
    reset: () => {
      gateSeconds = 1
    },
    wake: () => {
      gateSeconds = 0.1
    },
  }
}

/** The gate, and what has come through it since it was opened last. */
class Gate {
  readonly #plant: Plant
  #isOpen = false
  openMs = 0
  carrierMs = 0
  cycles = 0
  /** 0: the carrier had no tone on it. */
  toneHz = 0
  deviationHz = 0

  constructor(plant: Plant) {
    this.#plant = plant
    plant.follow((dtMs, during) => this.#count(dtMs, during))
  }

  open(): void {
    this.#plant.observe()
    this.#isOpen = true
    this.openMs = 0
    this.carrierMs = 0
    this.cycles = 0
    this.toneHz = 0
  }

  close(): void {
    this.#isOpen = false
  }

  #count(dtMs: number, { carrierHz, toneHz, deviation }: Observation): void {
    if (!this.#isOpen) return
    this.openMs += dtMs
    if (carrierHz === null) return
    this.carrierMs += dtMs
    this.cycles += (carrierHz * dtMs) / 1000
    if (toneHz === 0) return
    this.toneHz = toneHz
    this.deviationHz = (deviation.up + deviation.down) / 2
  }
}

/** What a gate of `seconds` is off by on a carrier with a tone: the part cycle left over between two phases, 0..1 of a turn. */
export function partCycleHz(deviationHz: number, toneHz: number, seconds: number, from: number, to: number): number {
  return (deviationHz / (2 * Math.PI * toneHz * seconds)) * (Math.cos(2 * Math.PI * from) - Math.cos(2 * Math.PI * to))
}

const REST_MS = 8
const LEAST_MISSING_MS = 0.5
