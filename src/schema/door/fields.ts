import { z } from 'zod'
import { readValue } from '../../quantity/parse-value.ts'
import { type Parsed, QUANTITY_NAMES, type Quantity, type Unit } from '../../quantity/quantity.ts'
import { EXAMPLES } from '../../quantity/unit-spelling.ts'

export interface Bounds {
  readonly least?: number
  readonly most?: number
}

/** Text as written, without blanks at its ends; a bare number is text too. 1 to `most` characters. */
export function words(most = 200) {
  return scalar('text', (text): Parsed<string> => {
    if (text.length === 0) return { ok: false, refused: 'is empty; expected text' }
    return text.length <= most
      ? { ok: true, value: text }
      : { ok: false, refused: `has ${text.length} characters; at most ${most}` }
  })
}

/** A value with its unit, as people write it ("13.8 V"), as a number in `unit`; the reader's own words are the refusal. */
export function quantityText(unit: Unit, bounds: Bounds = {}) {
  return scalar(`a value in ${unit}, for example ${EXAMPLES[unit]}`, (text) =>
    within(text, readValue(text, unit), unit, bounds),
  )
}

/** A time as people write it ("0.25 s", "50 ms"), in milliseconds. `bounds` in seconds. */
export function duration(bounds: Bounds = { least: 0 }) {
  return quantityText('s', bounds).transform((seconds) => seconds * 1000)
}

/** A whole number without a unit. */
export function wholeNumber(least: number, most: number) {
  return scalar(`a whole number from ${least} to ${most}`, (text): Parsed<number> => {
    const value = /^[+-]?\d{1,15}$/.test(text) ? Number(text) : Number.NaN
    if (value >= least && value <= most) return { ok: true, value }
    return { ok: false, refused: `read "${text}"; expected a whole number from ${least} to ${most}` }
  })
}

/** A plain decimal number without a unit ("1.60", "-0.5", "1e-3"). */
export function plainNumber(bounds: Bounds = {}) {
  return scalar('a number', (text): Parsed<number> => {
    if (!/^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,2})?$/.test(text))
      return { ok: false, refused: `read "${text}"; expected a number` }
    return within(text, { ok: true, value: Number(text) }, '', bounds)
  })
}

/** yes or no, true or false. */
export function yesNo() {
  return z.unknown().transform((input, ctx): boolean => {
    if (input === true || input === 'yes') return true
    if (input === false || input === 'no') return false
    return refuse(ctx, 'yes or no', input)
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
  return scalar('a day like 2027-03-31', (text): Parsed<string> => {
    const isDay = /^\d{4}-\d{2}-\d{2}$/.test(text) && new Date(`${text}T00:00:00Z`).toJSON()?.slice(0, 10) === text
    return isDay
      ? { ok: true, value: text }
      : { ok: false, refused: `read "${text}"; expected a day of the calendar like 2027-03-31` }
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

function scalar<T>(expected: string, read: (text: string) => Parsed<T>) {
  return z.unknown().transform((input, ctx): T => {
    if (typeof input !== 'string' && typeof input !== 'number') return refuse(ctx, expected, input)
    const parsed = read(String(input).trim())
    if (parsed.ok) return parsed.value
    ctx.addIssue({ code: 'custom', message: parsed.refused })
    return z.NEVER
  })
}

function refuse(ctx: z.RefinementCtx, expected: string, input: unknown): never {
  ctx.addIssue({ code: 'custom', message: `expected ${expected}`, params: { expected }, input })
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
    return { ok: false, refused: `read "${text}"; expected at least ${least} ${unit}`.trimEnd() }
  return parsed.value > most
    ? { ok: false, refused: `read "${text}"; expected at most ${most} ${unit}`.trimEnd() }
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
      ctx.addIssue({ code: 'custom', message: parsed.refused })
      return z.NEVER
    })
}
