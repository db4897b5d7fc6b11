import type { Unit } from '../../quantity/quantity.ts'

/** A value in dB: 10 lg of a power, 20 lg of an amplitude or a ratio, itself where it is in dB already. NaN for what has no logarithm. */
export function dbOf(value: number, unit: Unit): number {
  if (unit === 'dB') return value
  return value > 0 ? (unit === 'W' ? 10 : 20) * Math.log10(value) : Number.NaN
}

/** The value that `dbOf` makes these dB of. */
export function fromDb(db: number, unit: Unit): number {
  return unit === 'dB' ? db : 10 ** (db / (unit === 'W' ? 10 : 20))
}
