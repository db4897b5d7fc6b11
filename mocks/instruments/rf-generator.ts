import type { Plant } from '../plant/plant.ts'
import { booleanPair, numberPair } from '../unit/command-table.ts'
import { createInstrument, type SimulatedInstrument } from '../unit/instrument.ts'
import type { InstrumentSurroundings } from '../unit/line-session.ts'

/** A simulated generator, and what came back into it. */
export interface RfGenerator {
  readonly instrument: SimulatedInstrument
  /** Whether its RF is on, and for how long the radio has transmitted into it while it was, ms. */
  truth(): { readonly on: boolean; readonly keyedIntoMs: number }
  /** Its key at the front panel. */
  press(on: boolean): void
}

/**
 * RF generator at the aerial socket, `TRIMWRIGHT SIMULATED,RF GENERATOR,...`.
 *
 * | header | what it does |
 * | --- | --- |
 * | `[:SOURce]:FREQuency[:CW] Hz`, `...?` | 100 kHz to 1 GHz, 27 MHz after reset |
 * | `[:SOURce]:VOLTage[:LEVel][:IMMediate][:AMPLitude] V`, `...?` | across 50 ohm, not e.m.f.; 0 to 1 V, 0 after reset |
 * | `[:SOURce]:FM[:DEViation] Hz`, `...?` | peak deviation by its own tone of 1 kHz, 0 to 20 kHz; 0: none, as after reset |
 * | `[:SOURce]:AM[:DEPTh] n`, `...?` | depth by the same tone, 0 to 95, as per cent without a suffix; 0: none, as after reset |
 * | `OUTPut[:STATe] 1\|0`, `...?` | the RF; off after power-on, and so after the key at the panel is pressed again |
 *
 * It has no protection against a transmitter: what comes in while the RF is on goes to its output stage.
 */
export function createRfGenerator(plant: Plant, around: InstrumentSurroundings, serial: string): RfGenerator {
  let [keyedIntoMs, on] = [0, false]
  plant.follow((dtMs, { transmitting }) => {
    if (on && transmitting) keyedIntoMs += dtMs
  })
  const turn = (to: boolean): undefined =>
    void plant.change((state) => {
      on = to // after what was fed in until now
      state.generator.on = to
    })
  const present = () => plant.state().generator
  const value = (name: 'hz' | 'volts' | 'deviationHz') => ({
    get: () => present()[name],
    set: (to: number): undefined =>
      void plant.change((state) => {
        state.generator[name] = to
      }),
  })
  const reset = () => {
    turn(false)
    plant.change((state) => void Object.assign(state.generator, RESET))
  }
  const instrument = createInstrument(
    {
      name: 'generator',
      kind: 'RF GENERATOR',
      serial,
      commands: [
        ...numberPair('[:SOURce]:FREQuency[:CW]', {
          unit: 'HZ',
          low: 100e3,
          high: 1e9,
          preset: RESET.hz,
          digits: 10,
          ...value('hz'),
        }),
        ...numberPair('[:SOURce]:VOLTage[:LEVel][:IMMediate][:AMPLitude]', {
          unit: 'V',
          low: 0,
          high: 1,
          preset: RESET.volts,
          digits: 6,
          ...value('volts'),
        }),
        ...numberPair('[:SOURce]:FM[:DEViation]', {
          unit: 'HZ',
          low: 0,
          high: 20e3,
          preset: RESET.deviationHz,
          digits: 5,
          ...value('deviationHz'),
        }),
        ...numberPair('[:SOURce]:AM[:DEPTh]', {
          unit: 'none',
          low: 0,
          high: 95,
          preset: 100 * RESET.depth,
          digits: 4,
          get: () => 100 * present().depth,
          set: (percent): undefined =>
            void plant.change(({ generator }) => {
              generator.depth = percent / 100
            }),
        }),
        ...booleanPair('OUTPut[:STATe]', () => present().on, turn),
      ],
      reset,
    },
    around,
  )
  return {
    instrument,
    truth: () => {
      plant.observe()
      return { on, keyedIntoMs }
    },
    press: turn,
  }
}

const RESET = { hz: 27e6, volts: 0, deviationHz: 0, depth: 0 }
