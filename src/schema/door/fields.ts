import { z } from 'zod'
import { readValue } from '../../quantity/parse-value.ts'
import { QUANTITY_NAMES, type Quantity, type Unit } from '../../quantity/quantity.ts'
import { EXAMPLES } from '../../quantity/unit-spelling.ts'
import { type Said, said, type Words } from '../../words/said/said.ts'
import { inMessage } from './in-message.ts'

/** What was read from a person's text: the value, or in words what was read and what would be right. */
type Parsed<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly refused: Words }

export interface Bounds {
  readonly least?: number
  readonly most?: number
}

/** Text as written, without blanks at its ends; a bare number is text too. 1 to `most` characters. */
export function words(most = 200) {
  return scalar(said('file.expected-text'), (text): Parsed<string> => {
    if (text.length === 0) return { ok: false, refused: said('file.empty-text') }
    return text.length <= most
      ? { ok: true, value: text }
      : { ok: false, refused: said('file.characters', { count: text.length, most }) }
  })
}

/** A value with its unit, as people write it ("13.8 V"), as a number in `unit`; the reader's own words are the refusal. */
export function quantityText(unit: Unit, bounds: Bounds = {}) {
  return scalar(said('file.expected-value', { unit, example: EXAMPLES[unit] }), (text) =>
    within(text, readValue(text, unit), unit, bounds),
  )
}

/** A time as people write it ("0.25 s", "50 ms"), in milliseconds. `bounds` in seconds. */
export function duration(bounds: Bounds = { least: 0 }) {
  return quantityText('s', bounds).transform((seconds) => seconds * 1000)
}

/** A whole number without a unit. */
export function wholeNumber(least: number, most: number) {
  const expected = said('file.expected-whole-from', { least, most })
  return scalar(expected, (text): Parsed<number> => {
    const value = /^[+-]?\d{1,15}$/.test(text) ? Number(text) : Number.NaN
    if (value >= least && value <= most) return { ok: true, value }
    return { ok: false, refused: readBut(text, expected) }
  })
}

/** A plain decimal number without a unit ("1.60", "-0.5", "1e-3"). */
export function plainNumber(bounds: Bounds = {}) {
  return scalar(said('file.expected-number'), (text): Parsed<number> => {
    if (!/^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,2})?$/.test(text))
      return { ok: false, refused: readBut(text, said('file.expected-number')) }
    return within(text, { ok: true, value: Number(text) }, '', bounds)
  })
}

/** yes or no, true or false. */
export function yesNo() {
  return z.unknown().transform((input, ctx): boolean => {
    if (input === true || input === 'yes') return true
    if (input === false || input === 'no') return false
    return refuse(ctx, said('file.expected-yes-no'), input)
  })
}

/** One of a few words; a misspelt one is refused with the nearest. */
export function oneOf<const T extends readonly [string, ...string[]]>(options: T) {
  return z.enum(options)
}

/** The name of a quantity, as listed in src/quantity. */
export function quantityName() {
  return z.enum(QUANTITY_NAMES as readonly [Quantity, ...Quantity[]]) // the list has one entry at least
}

/** What tells several meters of one quantity apart, the same word in bench file and step. */
export function roleName() {
  return z.string().regex(/^[a-z][a-z0-9 -]{0,23}$/, 'a role in small letters, for example plug')
}

/** A day of the calendar as 2027-03-31. */
export function calendarDay() {
  return scalar(said('file.expected-day-short'), (text): Parsed<string> => {
    const isDay = /^\d{4}-\d{2}-\d{2}$/.test(text) && new Date(`${text}T00:00:00Z`).toJSON()?.slice(0, 10) === text
    return isDay ? { ok: true, value: text } : { ok: false, refused: readBut(text, said('file.expected-day')) }
  })
}

/** What ends a message: LF, CR or CR LF. */
export function lineEnd() {
  return z.enum(['LF', 'CR', 'CR LF']).transform((name) => ({ LF: '\n', CR: '\r', 'CR LF': '\r\n' })[name])
}

/** One entry or a list of them, as a list. */
export function oneOrList<T extends z.ZodType>(entry: T) {
  return z.union([z.array(entry), entry]).transform((value) => [value].flat() as readonly z.output<T>[]) // flat() undoes the union only
}

/** `format: 1`; a newer one is refused at the door before any field is judged. */
export function formatOne() {
  return z.literal(1)
}

function readBut(text: string, expected: Said): Said {
  return said('file.read', { read: `"${text}"`, expected })
}

function scalar<T>(expected: Said, read: (text: string) => Parsed<T>) {
  return z.unknown().transform((input, ctx): T => {
    if (typeof input !== 'string' && typeof input !== 'number') return refuse(ctx, expected, input)
    const parsed = read(String(input).trim())
    if (parsed.ok) return parsed.value
    ctx.addIssue({ code: 'custom', message: inMessage(parsed.refused) })
    return z.NEVER
  })
}

function refuse(ctx: z.RefinementCtx, expected: Said, input: unknown): never {
  ctx.addIssue({ code: 'custom', message: inMessage(said('file.expected', { expected })), params: { expected }, input })
  return z.NEVER
}

function within(
  text: string,
  parsed: Parsed<number>,
  unit: string,
  { least = -Infinity, most = Infinity }: Bounds,
): Parsed<number> {
  if (!parsed.ok) return parsed
  if (parsed.value < least)
    return { ok: false, refused: readBut(text, said('file.at-least', { limit: `${least} ${unit}`.trimEnd() })) }
  return parsed.value > most
    ? { ok: false, refused: readBut(text, said('file.at-most', { limit: `${most} ${unit}`.trimEnd() })) }
    : parsed
}

/** Turns a person's text into a value by one of the readers of src/quantity; the reader's own words are the refusal. */
export function readBy<T>(read: (text: string) => Parsed<T>) {
  return z
    .string()
    .trim()
    .min(1)
    .transform((text, ctx) => {
      const parsed = read(text)
      if (parsed.ok) return parsed.value
      ctx.addIssue({ code: 'custom', message: inMessage(parsed.refused) })
      return z.NEVER
    })
}
