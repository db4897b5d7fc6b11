import type { RadioParameters } from './parameters.ts'

/** Error of the reference oscillator, parts in 10^6 (3.2). `trimmerTurns` is endless: two right places per turn. */
export function referencePpm(radio: RadioParameters, trimmerTurns: number, crystalCelsius: number): number {
  const span = radio.trimmerMostFarad - radio.trimmerLeastFarad
  const trimmer = radio.trimmerLeastFarad + (span * (1 - Math.cos(2 * Math.PI * trimmerTurns))) / 2
  const load = radio.padFarad + trimmer
  const pull = 1 / (radio.crystalShuntFarad + load) - 1 / (radio.crystalShuntFarad + radio.loadReferenceFarad)
  const rise = crystalCelsius - 25
  const share =
    (radio.crystalMotionalFarad / 2) * pull + radio.crystalPerKelvin * rise + radio.crystalPerKelvinCubed * rise ** 3
  return 1e6 * share + radio.crystalAgedPpm
}

/** Crystal temperature, deg C, after `onSeconds` switched on and `keyedSeconds` of unbroken transmission (3.2). */
export function crystalCelsius(
  radio: RadioParameters,
  ambientCelsius: number,
  onSeconds: number,
  keyedSeconds: number,
): number {
  return (
    ambientCelsius +
    radio.warmUpKelvin * (1 - Math.exp(-onSeconds / radio.warmUpSeconds)) +
    radio.keyedKelvin * (1 - Math.exp(-keyedSeconds / radio.keyedSeconds))
  )
}
