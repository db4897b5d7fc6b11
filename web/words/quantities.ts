import type { Quantity } from '../../src/quantity/quantity.ts'
import { text } from './text.ts'

/** Quantities as they stand in the middle of a sentence. */
export const QUANTITY: Readonly<Record<Quantity, string>> = {
  frequency: text('quantity.frequency'),
  'RF power': text('quantity.rf-power'),
  'FM deviation': text('quantity.fm-deviation'),
  'AM depth': text('quantity.am-depth'),
  'DC voltage': text('quantity.dc-voltage'),
  'DC current': text('quantity.dc-current'),
  'audio level': text('quantity.audio-level'),
  'audio distortion': text('quantity.audio-distortion'),
  SINAD: text('quantity.sinad'),
  'audio tone': text('quantity.audio-tone'),
  'RF level': text('quantity.rf-level'),
  'signal meter': text('quantity.signal-meter'),
}

/** A quantity as a button says it. */
export function quantityWords(quantity: Quantity): string {
  return text('quantity.alone', { quantity: QUANTITY[quantity] })
}
