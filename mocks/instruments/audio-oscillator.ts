import type { Plant } from '../plant/plant.ts'
import { booleanPair, type Command, numberPair } from '../unit/command-table.ts'
import { createInstrument, type SimulatedInstrument } from '../unit/instrument.ts'
import type { InstrumentSurroundings } from '../unit/line-session.ts'

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
  return createInstrument(
    {
      name: 'oscillator',
      kind: 'AUDIO OSCILLATOR',
      serial,
      commands: toneCommands(plant, { source: '[:SOURce]', output: 'OUTPut' }),
      reset: () => resetTone(plant),
    },
    around,
  )
}

/** The commands of an audio generator, whatever box it is in, under the names that its source and its output have there. */
export function toneCommands(
  plant: Plant,
  at: { readonly source: string; readonly output: string },
): readonly Command[] {
  const present = () => plant.state().oscillator
  return [
    ...numberPair(`${at.source}:FREQuency[:CW]`, {
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
    ...numberPair(`${at.source}:VOLTage[:LEVel][:IMMediate][:AMPLitude]`, {
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
      `${at.output}[:STATe]`,
      () => present().on,
      (on): undefined =>
        void plant.change((state) => {
          state.oscillator.on = on
        }),
    ),
  ]
}

/** 1 kHz, 0 V, off: as after power-on. */
export function resetTone(plant: Plant): void {
  plant.change((state) => {
    Object.assign(state.oscillator, { hz: 1000, volts: 0, on: false })
  })
}
