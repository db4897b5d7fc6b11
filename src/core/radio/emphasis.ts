const REFERENCE_HZ = 1000

/** Corner of a network of one resistor and one capacitor, Hz, from its time constant in s. */
export function cornerHz(timeConstantS: number): number {
  return 1 / (2 * Math.PI * timeConstantS)
}

/** What a pre-emphasis network of this time constant (s) does to a tone, dB against 1 kHz or `referenceHz`. De-emphasis is the negative. */
export function emphasisDb(toneHz: number, timeConstantS: number, referenceHz = REFERENCE_HZ): number {
  const corner = cornerHz(timeConstantS)
  return 10 * Math.log10((1 + (toneHz / corner) ** 2) / (1 + (referenceHz / corner) ** 2))
}

/** Six dB an octave without a corner, dB against 1 kHz or `referenceHz`: what a phase modulator gives. */
export function sixPerOctaveDb(toneHz: number, referenceHz = REFERENCE_HZ): number {
  return 20 * Math.log10(toneHz / referenceHz)
}
