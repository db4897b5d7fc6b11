import { booleanPair, numberPair } from '../command-table.ts'
import { createInstrument, type InstrumentSurroundings, type SimulatedInstrument } from '../instrument.ts'
import type { Plant } from '../plant/plant.ts'

/**
 * Audio oscillator at the microphone socket, `TRIMWRIGHT SIMULATED,AUDIO OSCILLATOR,...`.
 *
 * | header | what it does |
 * | --- | --- |
 * | `[:SOURce]:FREQuency[:CW] Hz`, `...?` | 20 Hz to 20 kHz, 1 kHz after reset |
 * | `[:SOURce]:VOLTage[:LEVel][:IMMediate][:AMPLitude] V`, `...?` | r.m.s. at the socket, 0 to 2 V, 0 after reset |
 * | `OUTPut[:STATe] 1\|0`, `...?` | off after power-on |
 */
export function createAudioOscillator(
  plant: Plant,
  around: InstrumentSurroundings,
  serial: string,
): SimulatedInstrument {
  const present = () => plant.state().oscillator
  return createInstrument(
    {
      name: 'oscillator',
      kind: 'AUDIO OSCILLATOR',
      serial,
      commands: [
        ...numberPair('[:SOURce]:FREQuency[:CW]', {
          unit: 'HZ',
          low: 20,
          high: 20e3,
          preset: 1000,
          digits: 4,
          get: () => present().hz,
          set: (hz): undefined =>
            void plant.change((state) => {
              state.oscillator.hz = hz
            }),
        }),
        ...numberPair('[:SOURce]:VOLTage[:LEVel][:IMMediate][:AMPLitude]', {
          unit: 'V',
          low: 0,
          high: 2,
          preset: 0,
          digits: 4,
          get: () => present().volts,
          set: (volts): undefined =>
            void plant.change((state) => {
              state.oscillator.volts = volts
            }),
        }),
        ...booleanPair(
          'OUTPut[:STATe]',
          () => present().on,
          (on): undefined =>
            void plant.change((state) => {
              state.oscillator.on = on
            }),
        ),
      ],
      reset: () =>
        plant.change((state) => {
          Object.assign(state.oscillator, { hz: 1000, volts: 0, on: false })
        }),
    },
    around,
  )
}
