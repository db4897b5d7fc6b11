import { readValue } from '../../src/quantity/parse-value.ts'
import { type Quantity, unitOf } from '../../src/quantity/quantity.ts'
import type { LiveFrame } from '../../src/schema/messages/shown.ts'

/** The number on a display in SI, of two peaks ("1.78 / 1.71 kHz") the larger; null where none is shown ("---"). */
export function numberOn(text: string, quantity: Quantity): number | null {
  const parts = text.split('/').map((part) => part.trim())
  const unitWords = /[^\d.+\-\s].*$/s.exec(parts.at(-1) ?? '')?.[0] ?? ''
  const values = parts.map((part) => {
    const read = readValue(/[^\d.+\-\s]/.test(part) ? part : `${part} ${unitWords}`, unitOf(quantity))
    return read.ok ? read.value : null
  })
  return values.reduce<number | null>(
    (largest, value) => (largest === null || value === null ? null : Math.max(largest, value)),
    Number.NEGATIVE_INFINITY,
  )
}

/** The aim of the slot and half its window, SI, off the labels that the page shows; null where there is no aim. */
export function aimOf(
  { slot }: Pick<LiveFrame, 'slot'>,
  quantity: Quantity,
): { readonly aim: number; readonly half: number } | null {
  if (slot?.kind !== 'band') return null
  const labels = [slot.lowLabel, slot.aimLabel, slot.highLabel].map((label) => readValue(label, unitOf(quantity)))
  const [low, aim, high] = labels.map((read) => (read.ok ? read.value : null))
  if (aim == null) return null
  const sides = [
    ...(high == null ? [] : [slot.aimHighE * (high - aim)]),
    ...(low == null ? [] : [slot.aimLowE * (low - aim)]),
  ]
  const half = Math.min(...sides)
  return half > 0 && Number.isFinite(half) ? { aim, half } : null
}
