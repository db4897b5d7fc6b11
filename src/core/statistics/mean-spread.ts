/** Mean and standard deviation of some values, in their unit. */
export interface MeanAndSpread {
  readonly mean: number
  /** About the mean, n - 1; NaN of one value. */
  readonly spread: number
}

/**
 * Mean and standard deviation of the values from the index `from` on, in two passes, counted from the first of them so that no
 * digit of a frequency is lost: a sum of squares in one pass has none left at 27 MHz with a scatter of 0.1 Hz. NaN of none.
 */
export function meanAndSpread(ones: readonly { readonly value: number }[], from = 0): MeanAndSpread {
  const count = ones.length - from
  const origin = ones[from]?.value ?? Number.NaN
  let sum = 0
  for (let index = from; index < ones.length; index++) sum += (ones[index]?.value ?? origin) - origin
  const mean = sum / count
  let squares = 0
  for (let index = from; index < ones.length; index++) squares += ((ones[index]?.value ?? origin) - origin - mean) ** 2
  return { mean: origin + mean, spread: count > 1 ? Math.sqrt(squares / (count - 1)) : Number.NaN }
}
