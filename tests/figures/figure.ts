/** One line of `npm run figures`: what was reached, against what, measured in the same run. */
export interface Figure {
  readonly name: string
  readonly ours: number
  readonly reference: number
  readonly ratio: number
  readonly unit: string
  /** What the reference is, in words, and how many were measured. */
  readonly against: string
  /** Of a figure with a bound that must hold: each time that it did not, in words. Any of them has the command end with 1. */
  readonly missed?: readonly string[]
}
