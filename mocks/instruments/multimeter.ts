import { type Clock, sleep } from '../../src/system/clock.ts'
import { normal } from '../../src/system/rng.ts'
import type { Observation, Plant } from '../plant/plant.ts'
import { booleanPair, type Command, type Measurement, measurement, numberPair } from '../unit/command-table.ts'
import { createInstrument, type SimulatedInstrument } from '../unit/instrument.ts'
import type { InstrumentSurroundings } from '../unit/line-session.ts'

/**
 * DC multimeter, `TRIMWRIGHT SIMULATED,MULTIMETER,...`, reading between the prod and the common lead wherever they are.
 *
 * | header | what it does |
 * | --- | --- |
 * | `READ[:SCALar]:VOLTage[:DC]?` | integrates 0.2 s and replies: V, NR3, steps of 1 mV |
 * | `MEASure[:SCALar]:VOLTage[:DC]?`, `FETCh[:SCALar]:VOLTage[:DC]?` | the same; the last again (-230 before the first) |
 * | `[:SENSe]:VOLTage[:DC]:RANGe[:UPPer] V`, `...?` | 10 or 100 V, the next above what is asked; switches autorange off |
 * | `[:SENSe]:VOLTage[:DC]:RANGe:AUTO 1\|0`, `...?` | on after reset |
 *
 * 10 Mohm input: behind the 100 kohm at T1 it reads 1 % low. A range change blanks it for 0.6 s and spoils the first value
 * after it. Above 1.2 times a fixed range: 9.9E+37.
 */
export function createMultimeter(plant: Plant, around: InstrumentSurroundings, serial: string): SimulatedInstrument {
  const { clock, rng, faults } = around
  const range = new Range(clock)
  let integrating = false
  let integral = 0
  let integratedMs = 0
  const phase = rng()
  let keyed = false
  let onLeadVolts = 0

  plant.follow((dtMs, during) => {
    // How the leads lie, and with it what they pick up, is another matter at every key-down.
    if (during.transmitting && !keyed) onLeadVolts = LEAD_PICKUP_VOLTS * (LEAST_PICKUP + (1 - LEAST_PICKUP) * rng())
    keyed = during.transmitting
    if (!integrating) return
    integral += leadVolts(during) * dtMs
    integratedMs += dtMs
  })

  /** What a lead without a hold on the circuit picks up. */
  const pickup = ({ prod, common }: Observation): number => {
    const swing = (everyMs: number) => Math.sin(2 * Math.PI * (clock.nowMs() / everyMs + phase))
    const wander = 0.7 * swing(WANDER_MS) + 0.3 * swing(SLOW_WANDER_MS)
    if (prod === 'off') return PROD_OFF_VOLTS * wander
    if (common === 'off') return COMMON_OFF_VOLTS * (0.6 * wander + 0.4 * (2 * rng() - 1))
    return common === 'case' ? CASE_VOLTS * (0.5 + 0.5 * wander) : 0
  }

  const meter: Measurement = {
    digits: 4,
    take: async (signal) => {
      plant.observe()
      integrating = true
      integral = 0
      integratedMs = 0
      try {
        await sleep(clock, EVERY_MS, signal)
        plant.observe()
      } finally {
        integrating = false
      }
      const now = plant.observe()
      const onLead = now.transmitting && faults.strikes('volts', 'lead pickup') ? onLeadVolts : 0
      const noise = normal(rng) * (now.transmitting ? NOISE_KEYED_VOLTS : NOISE_VOLTS)
      const volts = integral / integratedMs + pickup(now) + onLead + noise
      const spoilt = await range.follow(volts, signal)
      if (range.isOver(volts)) return [volts > 0 ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY]
      return [Math.round((volts * spoilt) / STEP_VOLTS) * STEP_VOLTS]
    },
  }

  return createInstrument(
    {
      name: 'volts',
      kind: 'MULTIMETER',
      serial,
      commands: [...measurement(':VOLTage[:DC]?', meter), ...rangeCommands(range)],
      reset: () => range.reset(),
    },
    around,
  )
}

/** What is between the two leads while both have a hold. */
function leadVolts({ prod, common, plugVolts, controlVolts }: Observation): number {
  if (prod === 'off' || common !== 'strip') return 0
  return prod === 'plug' ? plugVolts : (controlVolts * INPUT_OHM) / (INPUT_OHM + SERIES_OHM)
}

/** 10 or 100 V, chosen or found by itself. */
class Range {
  readonly #clock: Clock
  #volts: 10 | 100 = 10
  auto = true

  constructor(clock: Clock) {
    this.#clock = clock
  }

  get volts(): number {
    return this.#volts
  }

  isOver(volts: number): boolean {
    return Math.abs(volts) > 1.2 * this.#volts
  }

  /** The next above what is asked; it stays there. */
  choose(volts: number): void {
    this.auto = false
    this.#volts = volts > 10 ? 100 : 10
  }

  /** Changes range where autorange wants it; returns what the value is multiplied by, 1 when nothing changed. */
  async follow(volts: number, signal: AbortSignal): Promise<number> {
    const wanted = Math.abs(volts) > 12 ? 100 : Math.abs(volts) < 9 ? 10 : this.#volts
    if (!this.auto || wanted === this.#volts) return 1
    this.#volts = wanted
    await sleep(this.#clock, BLANK_MS, signal)
    return SPOILT
  }

  reset(): void {
    this.auto = true
    this.#volts = 10
  }
}

function rangeCommands(range: Range): readonly Command[] {
  return [
    ...numberPair('[:SENSe]:VOLTage[:DC]:RANGe[:UPPer]', {
      unit: 'V',
      low: 0,
      high: 100,
      preset: 10,
      digits: 1,
      get: () => range.volts,
      set: (volts) => {
        range.choose(volts)
        return undefined
      },
    }),
    ...booleanPair(
      '[:SENSe]:VOLTage[:DC]:RANGe:AUTO',
      () => range.auto,
      (on) => {
        range.auto = on
        return undefined
      },
    ),
  ]
}

const EVERY_MS = 200
const INPUT_OHM = 10e6
/** On the board, in series with T1. */
const SERIES_OHM = 100e3
const NOISE_VOLTS = 1e-3
const NOISE_KEYED_VOLTS = 3e-3
const STEP_VOLTS = 1e-3
/** A prod in the air, its common on the strip: hardly anything. A common in the air: the whole meter floats. */
const PROD_OFF_VOLTS = 8e-3
const COMMON_OFF_VOLTS = 40e-3
const CASE_VOLTS = 0.3
const WANDER_MS = 3700
const SLOW_WANDER_MS = 11_300
/** At most, and the least of it as a share. */
const LEAD_PICKUP_VOLTS = 80e-3
const LEAST_PICKUP = 0.7
const BLANK_MS = 600
const SPOILT = 1.03
