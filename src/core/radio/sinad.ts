/** SINAD, dB, from a distortion meter's reading as a ratio of what is left without the tone to the whole: (S+N+D)/(N+D). */
export function sinadFromDistortion(ratio: number): number {
  return -20 * Math.log10(ratio)
}

/** What a distortion meter shows, as a ratio of noise and distortion to the whole, at a SINAD in dB. */
export function distortionFromSinad(sinadDb: number): number {
  return 10 ** (-sinadDb / 20)
}

/** Tone alone over noise and distortion, dB, at a SINAD in dB: less than the SINAD, in which the noise counts on both sides. NaN at 0 dB and below. */
export function toneOverNoiseDb(sinadDb: number): number {
  return 10 * Math.log10(10 ** (sinadDb / 10) - 1)
}
