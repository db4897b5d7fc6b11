/**
 * An exact decimal number, coefficient x 10^exponent. Band edges are worked out in it,
 * so that 3.85 less 0.05 is 3.8 and a reading of 3.80 lies inside.
 */
export interface Decimal {
  readonly coefficient: bigint
  readonly exponent: number
}

// A digit on both sides of the point: with ".5" allowed, "0...5" would have two meanings.
const NUMBER = /^([+-]?\d+)(?:\.(\d+))?(?:[eE]([+-]?\d+))?$/

/** Reads "13.8" or "1e-3", nothing else in the text; null when it is no such number or does not fit a double. */
export function readDecimal(text: string): Decimal | null {
  const match = NUMBER.exec(text)
  if (match === null) return null
  const [, whole = '', fraction = '', power = '0'] = match
  const coefficient = BigInt(whole.replace('+', '') + fraction)
  const fits = coefficient === 0n || (Number.isFinite(Number(text)) && Number(text) !== 0)
  return fits ? trimmed(coefficient, Number(power) - fraction.length) : null
}

/** The decimal a double prints as, which is what a person meant by it. Throws TypeError unless finite. */
export function decimalOf(value: number): Decimal {
  const decimal = readDecimal(String(value))
  if (decimal === null) throw new TypeError(`${value} is no decimal number`)
  return decimal
}

/** The nearest double; never -0. */
export function toNumber(decimal: Decimal): number {
  return Number(`${decimal.coefficient}e${decimal.exponent}`)
}

/** Multiplies by 10^places. */
export function shift(decimal: Decimal, places: number): Decimal {
  return trimmed(decimal.coefficient, decimal.exponent + places)
}

/** The exact product. */
export function times(a: Decimal, b: Decimal): Decimal {
  return trimmed(a.coefficient * b.coefficient, a.exponent + b.exponent)
}

/** The exact sum. */
export function add(a: Decimal, b: Decimal): Decimal {
  const exponent = Math.min(a.exponent, b.exponent)
  return trimmed(raised(a, exponent) + raised(b, exponent), exponent)
}

/** The same size with the other sign. */
export function negate(decimal: Decimal): Decimal {
  return { coefficient: -decimal.coefficient, exponent: decimal.exponent }
}

/** The exact half. */
export function half(decimal: Decimal): Decimal {
  return trimmed(decimal.coefficient * 5n, decimal.exponent - 1)
}

/** Decimals needed to write it exactly, 0 or more. */
export function decimalsOf(decimal: Decimal): number {
  return Math.max(0, -decimal.exponent)
}

/** Number of digits from the first to the last that is not 0. */
export function digitCount(decimal: Decimal): number {
  return String(decimal.coefficient).replace('-', '').length
}

/** The power of ten of the first digit: 1 for 13.8, -2 for 0.05. Of 0 it is 0. */
export function orderOf(decimal: Decimal): number {
  return digitCount(decimal) - 1 + decimal.exponent
}

/** Fixed notation, rounded half away from zero; negative `decimals` round to tens, hundreds. Never "-0". */
export function toDigits(decimal: Decimal, decimals: number): string {
  const places = decimal.exponent + decimals
  const size = decimal.coefficient < 0n ? -decimal.coefficient : decimal.coefficient
  const cut = 10n ** BigInt(Math.max(0, -places))
  const rounded = places >= 0 ? size * 10n ** BigInt(places) : (2n * size + cut) / (2n * cut)
  const sign = decimal.coefficient < 0n && rounded > 0n ? '-' : ''
  if (decimals <= 0) return `${sign}${rounded * 10n ** BigInt(-decimals)}`
  const digits = String(rounded).padStart(decimals + 1, '0')
  return `${sign}${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`
}

function raised(decimal: Decimal, exponent: number): bigint {
  return decimal.coefficient * 10n ** BigInt(decimal.exponent - exponent)
}

function trimmed(coefficient: bigint, exponent: number): Decimal {
  if (coefficient === 0n) return { coefficient, exponent: 0 }
  let [rest, power] = [coefficient, exponent]
  while (rest % 10n === 0n) {
    rest /= 10n
    power += 1
  }
  return { coefficient: rest, exponent: power }
}
