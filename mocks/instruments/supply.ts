import { sleep } from '../../src/system/clock.ts'
import { booleanPair, event, type Measurement, measurement, numberPair, query, type Refusal } from '../command-table.ts'
import { createInstrument, type SimulatedInstrument } from '../instrument.ts'
import type { InstrumentSurroundings } from '../line-session.ts'
import type { Plant } from '../plant/plant.ts'
import { powerOnState, SUPPLY_RANGE } from '../plant/supply-output.ts'

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
  const { clock, rng } = around
  let volts = 0
  let amps = 0
  const offset = { volts: spread(rng, 3e-3), amps: spread(rng, 3e-3) }

  plant.follow((dtMs, during) => {
    const share = Math.exp(-dtMs / LAG_MS)
    volts = during.terminalVolts + (volts - during.terminalVolts) * share
    amps = during.amps + (amps - during.amps) * share
  })

  const reads = (value: () => number, off: number): Measurement => ({
    digits: 4,
    take: async (signal) => {
      await sleep(clock, READ_MS, signal)
      plant.observe()
      return [Math.round((value() + off + spread(rng, 2e-3)) / STEP) * STEP]
    },
  })
  const supply = () => plant.state().supply
  const clear = (): undefined =>
    void plant.change((state) => {
      state.supply.tripped = 'no'
    })
  const output = (on: boolean): Refusal => {
    if (on && supply().tripped !== 'no') return -221
    plant.change((state) => {
      state.supply.on = on
    })
    return undefined
  }
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
    get: () => supply()[key],
    set: (value: number): undefined =>
      void plant.change((state) => {
        state.supply[key] = Math.round(value / step) * step
      }),
  })

  return createInstrument(
    {
      name: 'supply',
      kind: 'SUPPLY',
      serial,
      commands: [
        ...measurement(
          ':VOLTage[:DC]?',
          reads(() => volts, offset.volts),
        ),
        ...measurement(
          ':CURRent[:DC]?',
          reads(() => amps, offset.amps),
        ),
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
        query('[:SOURce]:VOLTage:PROTection:TRIPped?', () => (supply().tripped === 'voltage' ? '1' : '0')),
        event('[:SOURce]:VOLTage:PROTection:CLEar', clear),
        ...booleanPair(
          '[:SOURce]:CURRent:PROTection:STATe',
          () => supply().currentTrip,
          (on): undefined =>
            void plant.change((state) => {
              state.supply.currentTrip = on
            }),
        ),
        query('[:SOURce]:CURRent:PROTection:TRIPped?', () => (supply().tripped === 'current' ? '1' : '0')),
        event('[:SOURce]:CURRent:PROTection:CLEar', clear),
        event('OUTPut:PROTection:CLEar', clear),
        ...booleanPair('OUTPut[:STATe]', () => supply().on, output),
      ],
      questionable: () => (supply().on ? (plant.observe().limiting ? CONSTANT_CURRENT : CONSTANT_VOLTAGE) : 0),
      reset: () =>
        plant.change((state) => {
          const { regulatedVolts, ...rest } = powerOnState()
          Object.assign(state.supply, rest)
        }),
    },
    around,
  )
}

function spread(rng: () => number, by: number): number {
  return (2 * rng() - 1) * by
}

const LAG_MS = 100
const READ_MS = 25
const STEP = 1e-3
const CONSTANT_CURRENT = 1
const CONSTANT_VOLTAGE = 2
