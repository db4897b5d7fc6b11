import { HEALTHY, type RadioParameters } from './parameters.ts'

/** A fault in the simulated radio: the parameters that differ from a healthy set, and what a person would call it. */
export interface RadioFault {
  readonly words: string
  readonly change: Partial<RadioParameters>
}

/** Radio faults (common practice), each with a number, and those that are met at the first contact. */
export const RADIO_FAULTS = {
  'cracked VCO core': {
    words: '1: lower half of the core stays behind, VK moves a fifth of the normal',
    change: { coilPerTurn: 0.004, coilHenry: HEALTHY.coilHenry * 1.022 },
  },
  'loose output core': { words: '2: OK follows the tool with slop and in steps', change: { looseCoreTurns: 0.15 } },
  'aged crystal': { words: '3: crystal 45 ppm low, RT never reaches zero', change: { crystalAgedPpm: -45 } },
  'weak exciter': { words: '4: low gain before the final, no reserve', change: { driveShare: 0.45 } },
  'receive pad': { words: '5: 20 dB stuck in the receive path', change: { padDb: 20 } },
  'limiter defeated': { words: '6: deviation rises with level', change: { limiterUp: 4, limiterDown: 4 } },
  'leaky varactor': { words: '7: 200 nA leak, whine on the carrier', change: { residualHz: 280 } },
  'corroded plug': { words: '8: 0.35 ohm in the supply lead', change: { leadOhm: 0.35 } },
  'open power loop': { words: '9: detector diode open, PW does nothing', change: { loopWorks: false } },
  'change-over loss': { words: '10: 3 dB lost behind the detector, both ways', change: { pathLossDb: 3 } },
  'front transistor': { words: '11: first transistor damaged', change: { frontNoise: 8, frontGain: 1.5 } },
  'IF filter off centre': { words: '12: 1.5 kHz off', change: { ifOffsetKhz: 1.5 } },
  'one-sided limiter': { words: '13: lower peak limits early', change: { limiterDown: 0.7 } },
  'transmit band switch': { words: '14: diode open, unlocked in transmit', change: { transmitFarad: 0 } },
  'final off heatsink': {
    words: '15: three times the thermal resistance',
    change: { heatKelvinPerWatt: HEALTHY.heatKelvinPerWatt * 3 },
  },
  'draws too much': { words: '16: polarity diode broken down, 5 ohm across the plug', change: { shuntOhm: 5 } },
  'supply plug reversed': {
    words: '17: plus and minus exchanged at the plug, the polarity diode conducts from 0.8 V on',
    change: { reversed: true },
  },
  'supply shorted': { words: '18: plus touches minus at the plug, 0.1 ohm', change: { shuntOhm: 0.1 } },
} as const satisfies Record<string, RadioFault>

export type RadioFaultName = keyof typeof RADIO_FAULTS

/** Whether something names a radio fault. */
export function isRadioFault(value: unknown): value is RadioFaultName {
  return typeof value === 'string' && Object.hasOwn(RADIO_FAULTS, value)
}

/** A healthy set with the faults put in, later ones on top. */
export function withFaults(names: Iterable<RadioFaultName>): RadioParameters {
  let radio: RadioParameters = HEALTHY
  for (const name of names) radio = { ...radio, ...RADIO_FAULTS[name].change }
  return radio
}
