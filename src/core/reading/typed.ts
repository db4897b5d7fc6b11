import { readValue } from '../../quantity/parse-value.ts'
import type { Parsed, Unit } from '../../quantity/quantity.ts'
import { said, type Words } from '../../words/said/said.ts'
import type { Goal } from '../goal/goal.ts'

/** Reads "3.9 W", or both peaks as "1.78 / 1.71 kHz": one or two values in the unit, SI. The first may leave its unit to the last. */
export function readTyped(text: string, unit: Unit): Parsed<readonly number[]> {
  const parts = text.split('/').map((part) => part.trim())
  if (parts.length > 2) return { ok: false, refused: `"${text}" is more than two values` }
  const last = parts.at(-1) ?? ''
  const written = /[^\d.,+\-\s].*$/s.exec(last)?.[0] ?? ''
  const values: number[] = []
  for (const part of parts) {
    const whole = /[^\d.,+\-\s]/.test(part) ? part : `${part} ${written}`
    const read = readValue(whole, unit)
    if (!read.ok) return read
    values.push(read.value)
  }
  return { ok: true, value: values }
}

/** A misplaced point is asked about before it is taken: "39 W?" where the band is 3.3 .. 4.0 W. "" when nothing is odd. */
export function decadeOff(value: number, goal: Goal, text: string): Words {
  if (goal.kind !== 'band' || value <= 0) return ''
  const { low, high, aim } = goal.band
  if (low === null || high === null) return '' // an open side holds every decade
  const near = aim ?? (low + high) / 2
  if (near <= 0) return ''
  const decades = Math.log10(value / near)
  if (Math.abs(Math.abs(decades) - 1) > 0.3) return ''
  const meant = decades > 0 ? value / 10 : value * 10
  return said('typed.decade-off', { text, meant: `${Number(meant.toPrecision(4))}` })
}
