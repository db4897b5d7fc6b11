import { BARE_NUMBER, quoted, readAmount, refuse, tidy } from './amount.ts'
import { add, type Decimal, negate, times, toNumber } from './decimal.ts'
import type { Parsed, Unit } from './quantity.ts'
import { EXAMPLES } from './unit-spelling.ts'

/** Two ends, exact, the low one first. */
export interface ExactRange {
  readonly low: Decimal
  readonly high: Decimal
}

/** A centre and how much either way, exact, both in the same unit. */
export interface ExactAbout {
  readonly centre: Decimal
  readonly plusMinus: Decimal
}

/** How much either way: in the unit itself, or as a share of the centre. */
export interface Width {
  readonly exact: Decimal
  readonly as: 'unit' | 'ratio'
  /** The unit as it was written. */
  readonly suffix: string
}

/** Between the ends of a range: two or three points, the ellipsis sign, or an en dash. */
export const BETWEEN_ENDS = /\.{2,3}|\u2026|\u2013/
/** Before the width of a band: plus-minus as one sign, +- or +/-, with either minus. */
export const PLUS_MINUS = /\u00b1|\+\/?[-\u2212]/

/** Two numbers joined by a hyphen, a minus or "to", where the two points belong. */
export const HYPHENED = /^[+-]?\d[\d.]*\s*(?!e)(?:[^\d\s.,+-]+\s*)?(?:-|\u2212|\bto\b)\s*\d/i

/** Reads "1.60 .. 1.95 kHz"; a low end without a unit takes the unit of the high one. */
export function readExactRange(text: string, unit: Unit): Parsed<ExactRange> {
  const [lowText = '', highText = '', ...more] = text.split(BETWEEN_ENDS)
  if (tidy(lowText) === '' || tidy(highText) === '' || more.length > 0) {
    if (HYPHENED.test(tidy(text))) return refuse(hyphenRefusal(text, unit))
    const read = tidy(text) === '' ? 'Nothing was written' : `${quoted(text)} is not a range`
    return refuse(`${read}: write the two ends, such as ${rangeLike(unit)}`)
  }
  const high = readAmount(highText, unit)
  if (!high.ok) return high
  const low = readAmount(BARE_NUMBER.test(tidy(lowText)) ? `${lowText.trim()} ${high.value.suffix}` : lowText, unit)
  if (!low.ok) return low
  // As doubles, since two ends that differ in the 20th digit are one end to whoever compares a reading with them.
  if (toNumber(low.value.exact) >= toNumber(high.value.exact))
    return refuse(`${quoted(text)} runs from ${low.value.words} to ${high.value.words}: write the lower end first`)
  return { ok: true, value: { low: low.value.exact, high: high.value.exact } }
}

/** Reads "3.85 +- 0.05 W" or "27.205 MHz +- 5 ppm"; a centre without a unit takes the unit of the width. */
export function readExactAbout(text: string, unit: Unit): Parsed<ExactAbout> {
  const [centreText = '', widthText = '', ...more] = text.split(PLUS_MINUS)
  if (tidy(centreText) === '' || tidy(widthText) === '' || more.length > 0) {
    const read = tidy(text) === '' ? 'Nothing was written' : `${quoted(text)} is not a value with a plus-minus`
    return refuse(`${read}: write it like ${aboutLike(unit)}`)
  }
  const inLevels = /dBm?$/i.test(tidy(widthText)) && (unit === 'V' || unit === 'W')
  if (inLevels) return refuse(`${quoted(text)} has a plus-minus in dB: write the two ends, such as -48 .. -46 dBm`)

  const width = readWidth(widthText, unit)
  if (!width.ok) return width
  const borrows = BARE_NUMBER.test(tidy(centreText)) && width.value.as === 'unit'
  const centre = readAmount(borrows ? `${centreText.trim()} ${width.value.suffix}` : centreText, unit)
  if (!centre.ok) return centre
  const { exact } = centre.value
  const share = width.value.as === 'unit' ? width.value.exact : times(exact, width.value.exact)
  if (share.coefficient === 0n) return refuse(`${quoted(text)} is a share of nothing: write the width in ${unit}`)
  const plusMinus = share.coefficient < 0n ? negate(share) : share
  const [low, high] = [toNumber(add(exact, negate(plusMinus))), toNumber(add(exact, plusMinus))]
  const wide = low < toNumber(exact) && toNumber(exact) < high && Number.isFinite(high - low)
  if (!wide) return refuse(`${quoted(text)} has a width too large or too small to be real`)
  return { ok: true, value: { centre: exact, plusMinus } }
}

/**
 * Reads what stands behind a plus-minus, above 0. Percent and ppm are shares of the centre,
 * except of a quantity that is itself in percent: 85 % +- 5 % is 80 to 90 %.
 */
export function readWidth(text: string, unit: Unit): Parsed<Width> {
  const hasShares = unit !== 'ratio' && unit !== 'dB' && unit !== 'S'
  const as = hasShares && /(?:%|pp[mb]|per ?cent)$/i.test(tidy(text)) ? 'ratio' : 'unit'
  const amount = readAmount(text, as === 'ratio' ? 'ratio' : unit)
  if (!amount.ok) return amount
  const { exact, suffix } = amount.value
  if (exact.coefficient <= 0n) return refuse(`${quoted(text)} is no width: write how much either way, above 0`)
  return { ok: true, value: { exact, as, suffix } }
}

/** The refusal of what HYPHENED finds. */
export function hyphenRefusal(text: string, unit: Unit): string {
  return `${quoted(text)} needs two points between its ends: write it like ${rangeLike(unit)}`
}

/** "3.6 .. 3.9 W", for refusals. */
export function rangeLike(unit: Unit): string {
  return RANGES[unit]
}

/** "3.85 W +- 0.05 W", for refusals. */
export function aboutLike(unit: Unit): string {
  return `${EXAMPLES[unit]} +- ${WIDTHS[unit]}`
}

const RANGES: Readonly<Record<Unit, string>> = {
  Hz: '1.60 .. 1.95 kHz',
  W: '3.6 .. 3.9 W',
  V: '2.20 .. 2.60 V',
  A: '0.9 .. 1.3 A',
  ohm: '90 .. 110 kohm',
  s: '15 .. 20 s',
  ratio: '80 .. 90 %',
  dB: '20 .. 26 dB',
  S: '8 .. 9 S',
}

const WIDTHS: Readonly<Record<Unit, string>> = {
  Hz: '150 Hz',
  W: '0.05 W',
  V: '0.1 V',
  A: '20 mA',
  ohm: '5 %',
  s: '1 s',
  ratio: '5 %',
  dB: '0.5 dB',
  S: '1 S',
}
