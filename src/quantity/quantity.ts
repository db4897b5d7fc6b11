/** Units inside the program are SI, plus three logarithmic or counted ones that the trade reads directly. */
export const UNITS = ['Hz', 'W', 'V', 'A', 'ohm', 's', 'ratio', 'dB', 'S'] as const
export type Unit = (typeof UNITS)[number]

/** What is measured or set, in the words that files use, with the unit it is kept in. */
export const QUANTITIES = {
  frequency: { unit: 'Hz' },
  'RF power': { unit: 'W' },
  'FM deviation': { unit: 'Hz' },
  'AM depth': { unit: 'ratio' },
  'DC voltage': { unit: 'V' },
  'DC current': { unit: 'A' },
  'audio level': { unit: 'V' },
  'audio distortion': { unit: 'ratio' },
  SINAD: { unit: 'dB' },
  'audio tone': { unit: 'Hz' },
  /** Voltage across 50 ohm (p.d.), not e.m.f. */
  'RF level': { unit: 'V' },
  'signal meter': { unit: 'S' },
} as const satisfies Record<string, { unit: Unit }>

export type Quantity = keyof typeof QUANTITIES

export const QUANTITY_NAMES = Object.keys(QUANTITIES) as readonly string[] as readonly Quantity[]

export function unitOf(quantity: Quantity): Unit {
  return QUANTITIES[quantity].unit
}

/** What was read from a person's text: the value, or in words what was read and what would be right. */
export type Parsed<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly refused: string }
