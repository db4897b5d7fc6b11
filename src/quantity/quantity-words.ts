import { type Said, said } from '../words/said/said.ts'
import type { Quantity } from './quantity.ts'

const NAMES: Readonly<Record<Quantity, Said>> = {
  frequency: said('quantity.frequency'),
  'RF power': said('quantity.rf-power'),
  'FM deviation': said('quantity.fm-deviation'),
  'AM depth': said('quantity.am-depth'),
  'DC voltage': said('quantity.dc-voltage'),
  'DC current': said('quantity.dc-current'),
  'audio level': said('quantity.audio-level'),
  'audio distortion': said('quantity.audio-distortion'),
  SINAD: said('quantity.sinad'),
  'audio tone': said('quantity.audio-tone'),
  'RF level': said('quantity.rf-level'),
  'signal meter': said('quantity.signal-meter'),
}

/** A quantity inside a sentence. */
export function quantityWords(quantity: Quantity): Said {
  return NAMES[quantity]
}
