/**
 * The kinds of places that a step may name, as sheets write them and the hook-up drawing shows them. What a sheet says in words of its
 * own is `other`: shown as it is written, and nothing is made of it.
 */
export const PLACE_KINDS = {
  prod: ['board', 'plug'],
  common: ['strip'],
  side: ['solder', 'component'],
  set: [],
  tool: ['blade', 'non-metal blade', 'ceramic blade', 'hexagon', 'non-metal', 'ceramic'],
  microphone: ['oscillator', 'own', 'shorted', 'empty'],
} as const

export type PlaceName = keyof typeof PLACE_KINDS
export type PlaceKind<Name extends PlaceName> = (typeof PLACE_KINDS)[Name][number] | 'other'

/** One place of a step. */
export interface Place<Name extends PlaceName> {
  readonly is: PlaceKind<Name>
  /** As printed on the board ("T1", "ES"), or "". */
  readonly name: string
  /** The sheet's own words for it; "" where kind and name say all. */
  readonly words: string
}
