import { readValue } from '../../quantity/parse-value.ts'
import type { Parsed, Unit } from '../../quantity/quantity.ts'

/** The unit that an instrument speaks in, against the unit that the program keeps: a factor, or power in dBm. */
export type RowUnit = { readonly kind: 'factor'; readonly factor: number } | { readonly kind: 'dBm' }

/** Reads a unit as a driver file names it ("mV", "%", "kHz", "dBm") for a quantity that is kept in `unit`. */
export function readRowUnit(text: string, unit: Unit): Parsed<RowUnit> {
  if (text === unit) return { ok: true, value: { kind: 'factor', factor: 1 } }
  if (text === 'dBm' && unit === 'W') return { ok: true, value: { kind: 'dBm' } }
  const one = readValue(`1 ${text}`, unit)
  const two = readValue(`2 ${text}`, unit)
  if (one.ok && two.ok && one.value > 0 && two.value === 2 * one.value)
    return { ok: true, value: { kind: 'factor', factor: one.value } }
  return { ok: false, refused: `read "${text}"; expected ${unit}, or a unit that goes into it` }
}

/** From the instrument's number to the program's (SI). */
export function toKept(row: RowUnit, spoken: number): number {
  return row.kind === 'dBm' ? 1e-3 * 10 ** (spoken / 10) : spoken * row.factor
}

/** From the program's number (SI) to the instrument's. */
export function toSpoken(row: RowUnit, kept: number): number {
  return row.kind === 'dBm' ? 10 * Math.log10(kept / 1e-3) : kept / row.factor
}
