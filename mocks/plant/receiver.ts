import type { RadioParameters } from './parameters.ts'

/** Where the front-end slugs stand, turns from the right place. */
export interface FrontSlugs {
  readonly aerialTurns: number
  readonly interstageTurns: number
}

const TUNED: FrontSlugs = { aerialTurns: 0, interstageTurns: 0 }

/** Noise figure, dB (3.5). */
export function noiseFigureDb(radio: RadioParameters, slugs = TUNED): number {
  const aerial = 1 + (radio.aerialPerTurn * slugs.aerialTurns) ** 2
  const interstage = 1 + (radio.interstagePerTurn * slugs.interstageTurns) ** 2
  const factor =
    10 ** ((radio.inputLossDb + radio.padDb) / 10) *
    aerial *
    (radio.frontNoise + ((radio.mixerNoise - 1) * interstage) / radio.frontGain)
  return 10 * Math.log10(factor) + radio.otherLossDb
}

/** SINAD, dB (3.5), for a level in dBm and a generator `offsetKhz` off the channel. */
export function sinadDb(radio: RadioParameters, dbm: number, slugs = TUNED, offsetKhz = 0): number {
  const noiseDbm = -174 + 10 * Math.log10(radio.bandwidthHz) + noiseFigureDb(radio, slugs)
  const ratio = 10 ** ((dbm - noiseDbm - radio.pathLossDb) / 10)
  const noise = (1 + (radio.thresholdRatio / ratio) ** 2) / (radio.audioGain * ratio)
  const bent = radio.distortion + radio.distortionPerKhzSquared * (offsetKhz - radio.ifOffsetKhz) ** 2
  return 10 * Math.log10((1 + noise + bent ** 2) / (noise + bent ** 2))
}

/** Level for 12 dB SINAD, dBm (bisection, exact to 1e-20). */
export function sensitivityDbm(radio: RadioParameters, slugs = TUNED, offsetKhz = 0): number {
  let low = -140
  let high = -20
  for (let turn = 0; turn < 80; turn += 1) {
    const middle = (low + high) / 2
    if (sinadDb(radio, middle, slugs, offsetKhz) < 12) low = middle
    else high = middle
  }
  return low
}

/** Volts across 50 ohm for a level in dBm. */
export function voltsOfDbm(dbm: number): number {
  return Math.sqrt(50e-3 * 10 ** (dbm / 10))
}

/** Whether the squelch is open (3.6); `knob` 0..1, `carrierToNoiseDb` already filtered with 0.12 s. */
export function squelchOpen(radio: RadioParameters, open: boolean, carrierToNoiseDb: number, knob: number): boolean {
  const threshold = radio.squelchLeastDb + radio.squelchSpanDb * knob
  return open ? carrierToNoiseDb > threshold - radio.squelchHysteresisDb : carrierToNoiseDb > threshold
}

/** The set's own signal meter, S units 0..12 (3.6). */
export function signalMeter(radio: RadioParameters, dbm: number, slugs = TUNED, ifTurns = 0): number {
  const detuned =
    (1 + (radio.aerialPerTurn * slugs.aerialTurns) ** 2) *
    (1 + (radio.interstagePerTurn * slugs.interstageTurns) ** 2) *
    (1 + (radio.ifPerTurn * ifTurns) ** 2)
  const gainDb = -10 * Math.log10(detuned) - radio.padDb - radio.pathLossDb
  const units = 9 + (dbm + gainDb - radio.meterNineDbm) / radio.meterStepDb + radio.meterOffset
  return Math.max(0, Math.min(units, 12))
}

/** Audio power into the speaker, W, and its distortion as a ratio (3.6); `knob` 0..1. */
export function audioOutput(
  radio: RadioParameters,
  plugVolts: number,
  knob: number,
): { readonly watts: number; readonly distortion: number } {
  const clip = plugVolts / 2 - radio.audioDropVolts
  const curve = (Math.exp(radio.volumeCurve * knob) - 1) / (Math.exp(radio.volumeCurve) - 1)
  const peak = 9.3 * radio.detectorShare * curve
  const over = peak / clip
  const clipped = over <= 1 ? 0 : 0.483 * (1 - 1 / over) ** 1.06
  const fundamental =
    over <= 1 ? peak : clip * (2 / Math.PI) * (over * Math.asin(1 / over) + Math.sqrt(1 - 1 / over ** 2))
  const low = (radio.crossover * 0.5) / Math.max(fundamental, 0.05)
  return {
    watts: fundamental ** 2 / 2 / radio.speakerOhm,
    distortion: Math.sqrt(clipped ** 2 + radio.distortion ** 2 + low ** 2),
  }
}
