import { readAmount } from './amount.ts'
import { toNumber } from './decimal.ts'
import { readExactAbout, readExactRange } from './exact-band.ts'
import type { Parsed, Unit } from './quantity.ts'

/** Reads "13.8 V", "27.205 MHz", "85 %", "-47 dBm" (p.d. across 50 ohm for V) into the unit; refuses in words what is not exactly that. */
export function readValue(text: string, unit: Unit): Parsed<number> {
  const amount = readAmount(text, unit)
  return amount.ok ? { ok: true, value: toNumber(amount.value.exact) } : amount
}

/** Reads "1.60 .. 1.95 kHz" into the unit, `low` below `high`; refuses the rest in words. */
export function readRange(text: string, unit: Unit): Parsed<{ readonly low: number; readonly high: number }> {
  const range = readExactRange(text, unit)
  if (!range.ok) return range
  return { ok: true, value: { low: toNumber(range.value.low), high: toNumber(range.value.high) } }
}

/** Reads "3.85 +- 0.05 W", "27.205 MHz +- 5 ppm" into the unit, `plusMinus` above 0; refuses the rest in words. */
export function readAbout(text: string, unit: Unit): Parsed<{ readonly centre: number; readonly plusMinus: number }> {
  const about = readExactAbout(text, unit)
  if (!about.ok) return about
  return { ok: true, value: { centre: toNumber(about.value.centre), plusMinus: toNumber(about.value.plusMinus) } }
}
