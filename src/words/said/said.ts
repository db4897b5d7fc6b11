import type { Code, Template } from '../english/english.ts'

/** What may stand in a place of a sentence: a text that is the same in every language ("13.8 V", a label), a number, or another sentence. A list is read with commas. */
export type Argument = string | number | Said | readonly Argument[]

/**
 * A sentence as data: which one of the dictionary, and what stands in its places. Codes are never renamed and never used for another
 * meaning: journals and records keep them for ever.
 */
export interface Said {
  readonly said: string
  readonly with?: Readonly<Record<string, Argument>>
}

/** What a person reads: a sentence as data, or a text as it was written by a person, in a file or in an older record. "" says nothing. */
export type Words = string | Said

/** Names of the places of a template: "Supply to {volts}" has `volts`. */
type PlacesOf<T extends string> = T extends `${string}{${infer Place}}${infer Rest}`
  ? (Place extends `^${infer Plain}` ? Plain : Place) | PlacesOf<Rest>
  : never

/** What has to be given with a template: one argument that fills each of its places, or none where it has no place. */
export type Filling<T extends string, A = Argument> = [PlacesOf<T>] extends [never]
  ? []
  : [places: { readonly [P in PlacesOf<T>]: A }]

/**
 * A sentence of the dictionary with its places filled; the compiler holds code and places against `src/words/english`.
 *
 *     said('guide.bring-up')
 *     said('supply.to', { volts: printText(15.6, 'V', 0.01) })
 */
export function said<C extends Code>(code: C, ...[places]: Filling<Template<C>>): Said {
  return places === undefined ? { said: code } : { said: code, with: places }
}

/** Whether both say the same: sentences are compared by what they hold, never by `===`. */
export function sameWords(a: Words, b: Words): boolean {
  if (a === b) return true
  if (typeof a === 'string' || typeof b === 'string' || a.said !== b.said) return false
  return JSON.stringify(a.with) === JSON.stringify(b.with)
}

/** Whether something is a sentence as data. */
export function isSaid(value: unknown): value is Said {
  return typeof value === 'object' && value !== null && typeof (value as { said?: unknown }).said === 'string'
}

/** Whether words are this sentence of the dictionary. */
export function says(words: Words, code: Code): boolean {
  return typeof words !== 'string' && words.said === code
}

/** Whether words are this sentence of the dictionary, or hold it in one of their places, however deep. */
export function holds(words: Argument, code: Code): boolean {
  if (typeof words === 'string' || typeof words === 'number') return false
  if (!isSaid(words)) return words.some((one) => holds(one, code))
  return words.said === code || Object.values(words.with ?? {}).some((one) => holds(one, code))
}

/** What stands in a place of a sentence; null where it is a plain text or has no such place. */
export function placeOf(words: Words, place: string): Argument | null {
  return typeof words === 'string' ? null : (words.with?.[place] ?? null)
}
