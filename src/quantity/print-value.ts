import {
  add,
  type Decimal,
  decimalOf,
  decimalsOf,
  digitCount,
  half,
  negate,
  orderOf,
  shift,
  toDigits,
  toNumber,
} from './decimal.ts'
import { type Quantity, type Unit, unitOf } from './quantity.ts'
import type { Target } from './target.ts'

/** A unit as it is shown: "kHz" counts 10^3 of the unit inside. */
export interface Prefix {
  readonly unit: string
  readonly exponent: number
  /** The next larger one is taken from this shown value on. */
  readonly upTo: number
}

const prefix = (unit: string, exponent: number, upTo = 1000): Prefix => ({ unit, exponent, upTo })

// Smallest first. V ends at µV, since a receiver's sensitivity is read as 0.24 µV, not as 240 nV.
const PREFIXES: Readonly<Record<Unit, readonly [Prefix, ...Prefix[]]>> = {
  Hz: [prefix('Hz', 0), prefix('kHz', 3), prefix('MHz', 6), prefix('GHz', 9)],
  W: [prefix('pW', -12), prefix('nW', -9), prefix('\u00b5W', -6), prefix('mW', -3), prefix('W', 0), prefix('kW', 3)],
  V: [prefix('\u00b5V', -6), prefix('mV', -3), prefix('V', 0), prefix('kV', 3)],
  A: [prefix('\u00b5A', -6), prefix('mA', -3), prefix('A', 0)],
  ohm: [prefix('m\u03a9', -3), prefix('\u03a9', 0), prefix('k\u03a9', 3), prefix('M\u03a9', 6)],
  s: [prefix('\u00b5s', -6), prefix('ms', -3), prefix('s', 0)],
  ratio: [prefix('ppm', -6, 100), prefix('%', -2)],
  dB: [prefix('dB', 0)],
  S: [prefix('S', 0)],
}

const SIGNIFICANT = 4

/**
 * The prefix that fits a value, to be chosen once and passed on, so that the unit does not jump between readings.
 * `step` (the meter's resolution, above 0, in the unit) rules out prefixes in which the last digit would be made up.
 */
export function prefixFor(value: number, unit: Unit, step?: number): Prefix {
  const exact = decimalOf(value)
  const fine = step === undefined ? Number.NEGATIVE_INFINITY : stepOrder(step)
  const list = PREFIXES[unit]
  if (step === undefined && value === 0) return list.find((one) => one.exponent === 0) ?? last(list)
  const fits = list.find((one) => {
    const digits = toDigits(shift(exact, -one.exponent), decimalsFor(exact, one, step))
    return one.exponent >= fine && Math.abs(Number(digits)) < one.upTo
  })
  return fits ?? last(list)
}

/**
 * Prints a value in fixed notation with no digit finer than `step` (the meter's resolution, above 0, in the unit; rounded
 * down to a power of ten); four significant digits without one. Throws TypeError for NaN, infinity or a foreign prefix.
 */
export function printValue(
  value: number,
  unit: Unit,
  step?: number,
  fixed?: Prefix,
): { readonly digits: string; readonly unit: string } {
  const shown = shownIn(fixed, unit) ?? prefixFor(value, unit, step)
  const exact = decimalOf(value)
  return { digits: toDigits(shift(exact, -shown.exponent), decimalsFor(exact, shown, step)), unit: shown.unit }
}

/** `printValue` as one text: "3.85 W". */
export function printText(value: number, unit: Unit, step?: number, fixed?: Prefix): string {
  const { digits, unit: shown } = printValue(value, unit, step, fixed)
  return `${digits} ${shown}`
}

/**
 * Prints a target so that `readTarget` reads the same one; its limits as `printLimit` prints them.
 * A band narrower than 1 % of its aim either way, the aim in the middle, is shown as centre and plus-minus.
 */
export function printTarget(target: Target, quantity: Quantity, step?: number): string {
  if (target.kind === 'maximum' || target.kind === 'minimum') return target.kind
  if (target.kind === 'around channel')
    return `channel \u00b1 ${printLimit(target.plusMinus, target.as, target.as === 'Hz' ? step : undefined)}`
  const { unit, low, high, aim } = target
  if (unit !== unitOf(quantity)) throw new TypeError(`target in ${unit}, ${quantity} in ${unitOf(quantity)}`)
  if (low === null) {
    if (high === null) throw new TypeError('a band open on both sides is no target')
    return `at most ${printLimit(high, unit, step)}`
  }
  if (high === null) return `at least ${printLimit(low, unit, step)}`

  const width = toNumber(half(add(decimalOf(high), negate(decimalOf(low)))))
  const middle = toNumber(half(add(decimalOf(high), decimalOf(low))))
  const centred = aim !== null && Math.abs(aim - middle) <= 1e-9 * width
  if (centred && width < 0.01 * Math.abs(aim))
    return `${printLimit(aim, unit, step)} \u00b1 ${printLimit(width, unit, step)}`
  const shown = prefixFor(Math.max(Math.abs(low), Math.abs(high)), unit, step)
  const decimals = Math.max(limitDecimals(low, shown, step), limitDecimals(high, shown, step))
  return `${limitDigits(low, shown, decimals)} .. ${limitDigits(high, shown, decimals)} ${shown.unit}`
}

/**
 * Prints a limit: like `printText`, but filled up with zeros to the step and never rounded to it, so that 3.605 W stays 3.605 W
 * on a meter that shows 0.01 W. What nobody typed (worked out from dBm, over twelve digits) shows six significant digits.
 */
export function printLimit(value: number, unit: Unit, step?: number, fixed?: Prefix): string {
  const shown = shownIn(fixed, unit) ?? prefixFor(value, unit, step)
  return `${limitDigits(value, shown, limitDecimals(value, shown, step))} ${shown.unit}`
}

function shownIn(fixed: Prefix | undefined, unit: Unit): Prefix | undefined {
  if (fixed !== undefined && !PREFIXES[unit].some((one) => one.unit === fixed.unit))
    throw new TypeError(`${fixed.unit} does not show ${unit}`)
  return fixed
}

function limitDigits(value: number, shown: Prefix, decimals: number): string {
  return toDigits(shift(decimalOf(value), -shown.exponent), decimals)
}

function limitDecimals(value: number, shown: Prefix, step: number | undefined): number {
  const exact = shift(decimalOf(value), -shown.exponent)
  const own = digitCount(exact) <= 12 ? decimalsOf(exact) : Math.max(0, 5 - orderOf(exact))
  return Math.max(own, step === undefined ? 0 : shown.exponent - stepOrder(step))
}

function decimalsFor(exact: Decimal, shown: Prefix, step: number | undefined): number {
  if (step !== undefined) return shown.exponent - stepOrder(step)
  if (exact.coefficient === 0n) return 0
  const decimals = SIGNIFICANT - 1 - orderOf(exact)
  const rounded = Number(toDigits(exact, decimals))
  // 9.9996 becomes 10.00, which needs one decimal less; the largest numbers of all round to none that can be held.
  const longer = Number.isFinite(rounded) && orderOf(decimalOf(rounded)) > orderOf(exact)
  return Math.max(0, shown.exponent + decimals - (longer ? 1 : 0))
}

/** The power of ten at or below the step; 0.0099999999999 counts as 0.01. */
function stepOrder(step: number): number {
  if (!(step > 0)) throw new TypeError(`a step of ${step} is no resolution`)
  return Number(Number(step.toPrecision(6)).toExponential().split('e')[1])
}

function last(list: readonly [Prefix, ...Prefix[]]): Prefix {
  return list.at(-1) ?? list[0]
}
