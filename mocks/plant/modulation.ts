import type { RadioParameters } from './parameters.ts'

/** Soft limiter (3.4). */
export function limited(value: number, limit: number, knee: number): number {
  return value / (1 + Math.abs(value / limit) ** knee) ** (1 / knee)
}

/** Both peaks, each as a positive number. */
export interface Peaks {
  readonly up: number
  readonly down: number
}

/** Peak FM deviation, Hz, without meter noise (3.4). `volts` at the microphone socket, `preset` 0..1, control volts for the asymmetry. */
export function fmPeaksHz(radio: RadioParameters, volts: number, preset: number, controlVolts = 2.6): Peaks {
  const driven = radio.microphoneGain * volts
  const asymmetry = radio.asymmetry + radio.asymmetryPerVolt * (controlVolts - 2.6)
  const full = radio.deviationHz * preset
  return {
    up: full * limited(driven, radio.limiterUp, radio.limiterKnee) * (1 + asymmetry),
    down: full * limited(driven, radio.limiterDown, radio.limiterKnee) * (1 - asymmetry),
  }
}

/** AM depth up and down as ratios (3.4). `availableWatts` is what the stage could give at the present supply. */
export function amDepths(
  radio: RadioParameters,
  volts: number,
  preset: number,
  carrierWatts: number,
  availableWatts: number,
): Peaks {
  const asked = radio.amGain * preset * limited(radio.microphoneGain * volts, radio.limiterUp, radio.limiterKnee)
  const room = carrierWatts > 0 ? Math.max(Math.sqrt(availableWatts / carrierWatts) - 1, 0) : 0
  return { up: Math.min(asked, room), down: Math.min(asked, 1) }
}

/**
 * Share of a tone that passes the audio stages: before the limiter the low end falls away under 250 Hz, behind it the
 * high end above 3.6 kHz. 1 at 1 kHz, where the values in parameters.ts hold.
 */
export function audioPass(toneHz: number): { readonly before: number; readonly behind: number } {
  return {
    before: 1 / Math.sqrt(1 + (250 / toneHz) ** 8),
    behind: 1 / Math.sqrt(1 + (toneHz / 3600) ** 8),
  }
}
