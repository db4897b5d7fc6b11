import { type Decimal, decimalOf, readDecimal, shift, times, toNumber } from './decimal.ts'
import { dbmToPd, dbmToWatts } from './level.ts'
import type { Parsed, Unit } from './quantity.ts'
import { EXAMPLES, type Scale, scaleOf, spellingsOf } from './unit-spelling.ts'

/** One number with its unit, exact, in the unit asked for. */
export interface Amount {
  readonly exact: Decimal
  /** The unit as it was written, tidied: "uV". */
  readonly suffix: string
  /** As it was understood: "500 kHz". */
  readonly words: string
}

/** A number without a unit, tidied. */
export const BARE_NUMBER = /^[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?$/

const AMOUNT = /^([+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?) ?(.*)$/s
const LONGEST = 100

/** One spelling for each sign: - for minus, u for micro, ohm for omega; every run of blanks of any width becomes one. */
export function tidy(text: string): string {
  return text
    .replace(/\s+/g, ' ')
    .trim()
    .replace(/\u2212/g, '-')
    .replace(/[\u00b5\u03bc]/g, 'u')
    .replace(/[\u03a9\u2126]/g, 'ohm')
}

/** The text as it is named in a refusal: in quotes, at most 60 characters of it. */
export function quoted(text: string): string {
  const shown = text.trim()
  return shown.length > 60 ? `"${shown.slice(0, 59)}\u2026"` : `"${shown}"`
}

/** A refusal, in words for the person who wrote the text. */
export function refuse(refused: string): { readonly ok: false; readonly refused: string } {
  return { ok: false, refused }
}

/** Reads one number with its unit, the whole text, into exact decimal. Never guesses: anything else is refused in words. */
export function readAmount(text: string, unit: Unit): Parsed<Amount> {
  const written = unit === 'S' ? tidy(text).replace(/^S ?(\d.*)$/, '$1 S') : tidy(text)
  const misshapen = faultOf(written, unit)
  if (misshapen !== null) return refuse(written === '' ? misshapen : `${quoted(text)} ${misshapen}`)

  const [, number = '', suffix = ''] = AMOUNT.exec(written) ?? []
  const spelled = scaleOf(suffix, unit)
  if ('wrong' in spelled) return refuse(`${quoted(text)} ${spelled.wrong}`)
  const exact = scaled(number, spelled.scale, unit)
  if (exact === null) return refuse(`${quoted(text)} is too large or too small to be real`)
  return { ok: true, value: { exact, suffix, words: `${number} ${suffix}` } }
}

/** What is wrong with the shape of a tidied text, whatever its unit; null when it is one number and something behind it. */
function faultOf(written: string, unit: Unit): string | null {
  const like = EXAMPLES[unit]
  if (written === '') return `Nothing was written: write a number and its unit, such as ${like}`
  if (written.length > LONGEST) return `is too long: write a number and its unit, such as ${like}`
  if (/,\d/.test(written)) return 'has a comma: write a decimal point, not a comma, and nothing between thousands'
  if (/^\u2013/.test(written)) return 'begins with a dash: write the minus sign -'

  const match = AMOUNT.exec(written)
  const onePointSide = /^[+-]?\.\d/.test(written) || /^[+-]?\d+\.(?!\.)\D*$/.test(written)
  if (onePointSide) return 'needs a digit on both sides of the decimal point'
  if (match === null) return `does not begin with a number: write it like ${like}`
  const [, , suffix = ''] = match
  if (suffix === '') return `has no unit: write ${spellingsOf(unit)} behind it`
  if (unit === 'S' && /dB S$/.test(written)) return `counts in dB over a mark: write S units only, such as ${like}`
  if (/\d/.test(suffix)) return `holds more than one number: write one, without blanks inside, such as ${like}`
  return null
}

function scaled(number: string, scale: Scale, unit: Unit): Decimal | null {
  const decimal = readDecimal(number)
  if (decimal === null) return null
  if (scale.kind === 'dBm') {
    const value = unit === 'W' ? dbmToWatts(toNumber(decimal)) : dbmToPd(toNumber(decimal))
    return Number.isFinite(value) && value > 0 ? decimalOf(value) : null
  }
  const exact = shift(times(decimal, { coefficient: scale.times, exponent: 0 }), scale.exponent)
  const value = toNumber(exact)
  return Number.isFinite(value) && (value !== 0 || decimal.coefficient === 0n) ? exact : null
}
