import { DRAWINGS } from './drawings.ts'
import { FORMS } from './forms.ts'
import { HANDS } from './hands.ts'
import { QUANTITIES } from './quantities.ts'
import { SCREEN } from './screen.ts'
import { SIZES } from './sizes.ts'

/**
 * The dictionary of the page: each of its own words and sentences under a code. `{place}` is filled when it is said; `{^place}` with a
 * capital letter first. Another language has the same codes and the same places.
 */
export const ENGLISH = {
  ...DRAWINGS,
  ...FORMS,
  ...HANDS,
  ...QUANTITIES,
  ...SCREEN,
  ...SIZES,
} as const satisfies Readonly<Record<string, string>>

export type Code = keyof typeof ENGLISH
export type Template<C extends Code> = (typeof ENGLISH)[C]
