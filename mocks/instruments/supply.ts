import { sleep } from '../../src/system/clock.ts'
import type { Plant } from '../plant/plant.ts'
import { powerOnState, SUPPLY_RANGE, type SupplyOutput } from '../plant/supply-output.ts'
import {
  booleanPair,
  type Command,
  event,
  type Measurement,
  measurement,
  numberPair,
  query,
  type Refusal,
} from '../unit/command-table.ts'
import { createInstrument, type SimulatedInstrument } from '../unit/instrument.ts'
import type { InstrumentSurroundings } from '../unit/line-session.ts'

/**
 * Programmable supply, `TRIMWRIGHT SIMULATED,SUPPLY,...`, 0 to 20 V, 0 to 5 A.
 *
 * | header | what it does |
 * | --- | --- |
 * | `[:SOURce]:VOLTage[:LEVel][:IMMediate][:AMPLitude] V`, `...?` | voltage, steps of 10 mV; the query gives what was set |
 * | `[:SOURce]:CURRent[:LEVel][:IMMediate][:AMPLitude] A`, `...?` | current limit |
 * | `[:SOURce]:VOLTage:PROTection[:LEVel] V`, `...?` | over-voltage trip, up to 22 V |
 * | `[:SOURce]:VOLTage:PROTection:TRIPped?` | 1 after a trip, until cleared |
 * | `[:SOURce]:VOLTage:PROTection:CLEar` | clears it; the output stays off |
 * | `[:SOURce]:CURRent:PROTection:STATe 1\|0`, `...?` | trip instead of limiting, after 50 ms |
 * | `[:SOURce]:CURRent:PROTection:TRIPped?`, `...:CLEar` | as above |
 * | `OUTPut[:STATe] 1\|0`, `...?` | output; -221 while tripped |
 * | `MEASure[:SCALar]:VOLTage[:DC]?`, `MEASure[:SCALar]:CURRent[:DC]?` | at the terminals, +-5 mV, +-5 mA, lagging by 0.1 s |
 * | `STATus:QUEStionable:CONDition?` | bit 0 (1): voltage not regulated, so constant current; bit 1 (2): current not regulated, so constant voltage; 0: output off |
 *
 * Off, 0 V, 5 A, trip at 22 V after power-on and *RST. It keeps its state when a client goes.
 */
export function createSupply(plant: Plant, around: InstrumentSurroundings, serial: string): SimulatedInstrument {
  return supplyOf(plant, around, serial, null)
}

/** A supply with two outputs, one of which is worked on at a time; the radio is on output 2, nothing on output 1. */
export interface TwoOutputSupply extends SimulatedInstrument {
  /** A finger on the key at the panel. */
  pick(output: 1 | 2): void
  /** What output 1 gives: it follows its setting at once and draws nothing. */
  readonly first: SupplyOutput
}

/**
 * As `createSupply`, with `INSTrument:NSELect 1|2`, `...?`: the output that every other command is about. Output 1 after power-on, and
 * whatever is picked at the panel.
 */
export function createTwoOutputSupply(plant: Plant, around: InstrumentSurroundings, serial: string): TwoOutputSupply {
  const first = powerOnState()
  const second: Selection = { first, picked: 1 }
  return {
    ...supplyOf(plant, around, serial, second),
    first,
    pick: (output) => {
      second.picked = output
    },
  }
}

interface Selection {
  readonly first: SupplyOutput
  picked: number
}

function supplyOf(
  plant: Plant,
  around: InstrumentSurroundings,
  serial: string,
  selection: Selection | null,
): SimulatedInstrument {
  const worked = new WorkedOn(plant, selection)
  const { volts, amps } = readBack(plant, around, worked)
  return createInstrument(
    {
      name: 'supply',
      kind: 'SUPPLY',
      serial,
      commands: [
        ...measurement(':VOLTage[:DC]?', volts),
        ...measurement(':CURRent[:DC]?', amps),
        ...settingCommands(worked),
        ...tripCommands(worked),
        ...booleanPair(
          'OUTPut[:STATe]',
          () => worked.output().on,
          (on) => switchOutput(worked, on),
        ),
        ...(selection ? picking(selection) : []),
      ],
      questionable: () => {
        if (!worked.output().on) return 0
        return !worked.first() && plant.observe().limiting ? CONSTANT_CURRENT : CONSTANT_VOLTAGE
      },
      reset: () => {
        const { regulatedVolts, ...rest } = powerOnState()
        plant.change((state) => Object.assign(state.supply, rest))
        if (selection) Object.assign(selection.first, rest)
        if (selection) selection.picked = 1
      },
    },
    around,
  )
}

/** The output that a command is about. */
class WorkedOn {
  readonly #plant: Plant
  readonly #selection: Selection | null

  constructor(plant: Plant, selection: Selection | null) {
    this.#plant = plant
    this.#selection = selection
  }

  /** Output 1 while that is picked; null: the radio's. */
  first(): SupplyOutput | null {
    return this.#selection?.picked === 1 ? this.#selection.first : null
  }

  output(): Readonly<SupplyOutput> {
    return this.first() ?? this.#plant.state().supply
  }

  change(alter: (output: SupplyOutput) => void): undefined {
    const other = this.first()
    if (other) alter(other)
    else this.#plant.change((state) => alter(state.supply))
  }
}

/** What is at the terminals as the supply itself measures it: late, and a little off. */
function readBack(
  plant: Plant,
  { clock, rng }: InstrumentSurroundings,
  worked: WorkedOn,
): { readonly volts: Measurement; readonly amps: Measurement } {
  let volts = 0
  let amps = 0
  const offset = { volts: spread(rng, 3e-3), amps: spread(rng, 3e-3) }

  plant.follow((dtMs, during) => {
    const share = Math.exp(-dtMs / LAG_MS)
    volts = during.terminalVolts + (volts - during.terminalVolts) * share
    amps = during.amps + (amps - during.amps) * share
  })

  const reads = (value: () => number, ofFirst: (first: SupplyOutput) => number, off: number): Measurement => ({
    digits: 4,
    take: async (signal) => {
      const other = worked.first() // what was picked when it began, whatever is picked meanwhile
      await sleep(clock, READ_MS, signal)
      plant.observe()
      const read = other ? ofFirst(other) : value()
      return [Math.round((read + off + spread(rng, 2e-3)) / STEP) * STEP]
    },
  })
  return {
    volts: reads(
      () => volts,
      ({ on, setVolts }) => (on ? setVolts : 0),
      offset.volts,
    ),
    amps: reads(
      () => amps,
      () => 0,
      offset.amps,
    ),
  }
}

function settingCommands(worked: WorkedOn): readonly Command[] {
  const setting = (
    unit: 'V' | 'A',
    low: number,
    high: number,
    preset: number,
    key: 'setVolts' | 'limitAmps' | 'protectVolts',
    step: number,
  ) => ({
    unit,
    low,
    high,
    preset,
    digits: 4,
    get: () => worked.output()[key],
    set: (value: number): undefined =>
      worked.change((at) => {
        at[key] = Math.round(value / step) * step
      }),
  })
  return [
    ...numberPair(
      '[:SOURce]:VOLTage[:LEVel][:IMMediate][:AMPLitude]',
      setting('V', 0, SUPPLY_RANGE.volts, 0, 'setVolts', 0.01),
    ),
    ...numberPair(
      '[:SOURce]:CURRent[:LEVel][:IMMediate][:AMPLitude]',
      setting('A', 0.01, SUPPLY_RANGE.amps, SUPPLY_RANGE.amps, 'limitAmps', 0.001),
    ),
    ...numberPair(
      '[:SOURce]:VOLTage:PROTection[:LEVel]',
      setting('V', 1, SUPPLY_RANGE.protectVolts, SUPPLY_RANGE.protectVolts, 'protectVolts', 0.01),
    ),
  ]
}

/** What has tripped, and how that is cleared. */
function tripCommands(worked: WorkedOn): readonly Command[] {
  const clear = (): undefined =>
    worked.change((at) => {
      at.tripped = 'no'
    })
  return [
    query('[:SOURce]:VOLTage:PROTection:TRIPped?', () => (worked.output().tripped === 'voltage' ? '1' : '0')),
    event('[:SOURce]:VOLTage:PROTection:CLEar', clear),
    ...booleanPair(
      '[:SOURce]:CURRent:PROTection:STATe',
      () => worked.output().currentTrip,
      (on): undefined =>
        worked.change((at) => {
          at.currentTrip = on
        }),
    ),
    query('[:SOURce]:CURRent:PROTection:TRIPped?', () => (worked.output().tripped === 'current' ? '1' : '0')),
    event('[:SOURce]:CURRent:PROTection:CLEar', clear),
    event('OUTPut:PROTection:CLEar', clear),
  ]
}

function switchOutput(worked: WorkedOn, on: boolean): Refusal {
  if (on && worked.output().tripped !== 'no') return -221
  worked.change((at) => {
    at.on = on
  })
  return undefined
}

function picking(selection: Selection): readonly Command[] {
  const [choose] = numberPair('INSTrument:NSELect', {
    unit: 'none',
    low: 1,
    high: 2,
    preset: 1,
    digits: 0,
    get: () => selection.picked,
    set: (output): undefined => {
      selection.picked = Math.round(output)
    },
  })
  const asked = query('INSTrument:NSELect?', () => String(selection.picked))
  return choose ? [choose, asked] : [asked]
}

function spread(rng: () => number, by: number): number {
  return (2 * rng() - 1) * by
}

const LAG_MS = 100
const READ_MS = 25
const STEP = 1e-3
const CONSTANT_CURRENT = 1
const CONSTANT_VOLTAGE = 2
