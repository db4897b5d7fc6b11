import { coverageFactor, ENDLESS, TWO_SIGMA } from '../statistics/student.ts'

/** How an unknown part may lie: about its size as a standard deviation, anywhere within its half width, or mostly near the ends of it. */
export type Shape = 'normal' | 'rectangular' | 'U-shaped'

/** One reason why a value may be wrong, in the unit of the value. */
export interface Part {
  /** In bench words: "time base". */
  readonly name: string
  readonly shape: Shape
  /** normal: standard uncertainty; else half width. Signed: which way the value goes when the common cause goes up. */
  readonly size: number
  /** Degrees of freedom of the size, 1 or more; Infinity for a stated limit. */
  readonly freedom: number
  /** What it comes from where another value may come from the same: such parts add or cancel with their signs. null: its own chance. */
  readonly shared: string | null
}

export type Budget = readonly Part[]

/** A combined uncertainty, in the unit of the value. */
export interface Combined {
  readonly standard: number
  /** Effective degrees of freedom, a whole number, 1 or more, or Infinity. */
  readonly freedom: number
  readonly k: number
  readonly expanded: number
}

/** Half width over standard uncertainty: GUM 4.3.7 for the rectangle, Harris and Warner (IEE Proc. H 128, 1981) for the U. */
const DIVISOR: Readonly<Record<Shape, number>> = { normal: 1, rectangular: Math.sqrt(3), 'U-shaped': Math.SQRT2 }

/** Standard uncertainty of one part, with its sign. */
export function standardOf({ size, shape }: Part): number {
  return size / DIVISOR[shape]
}

/**
 * Root of the sum of squares of the parts, those of one cause added first (GUM 5.1.2, 5.2.2); effective degrees of freedom by
 * Welch and Satterthwaite, cut to a whole number (GUM G.4); k so that `level` of Student's t lies within.
 */
export function combine(budget: Budget, level = TWO_SIGMA): Combined {
  let squares = 0
  let fourths = 0
  for (let at = 0; at < budget.length; at++) {
    const part = budget[at]
    if (!part) break
    if (part.shared !== null && startsEarlier(budget, at)) continue
    const { standard, freedom } = part.shared === null ? alone(part) : together(budget, at)
    const square = standard * standard
    squares += square
    fourths += (square * square) / freedom
  }
  // rounding must not cost a whole degree of freedom
  const whole = fourths > 0 ? Math.floor(((squares * squares) / fourths) * (1 + 1e-12)) : Infinity
  const freedom = whole >= ENDLESS ? Infinity : Math.max(1, whole)
  const standard = Math.sqrt(squares)
  const k = coverageFactor(freedom, level)
  return { standard, freedom, k, expanded: k * standard }
}

/**
 * Budget of a change, as left less as found: parts of one cause stand against each other and cancel as far as they are equal (the
 * scale of the same meter, the same path); what is each reading's own chance stays twice.
 */
export function budgetOfChange(found: Budget, left: Budget): Budget {
  return [...left, ...found.map((part) => ({ ...part, size: -part.size }))]
}

function alone(part: Part): { readonly standard: number; readonly freedom: number } {
  return { standard: standardOf(part), freedom: part.freedom }
}

function startsEarlier(budget: Budget, at: number): boolean {
  const cause = budget[at]?.shared
  for (let index = 0; index < at; index++) if (budget[index]?.shared === cause) return true
  return false
}

function together(budget: Budget, from: number): { readonly standard: number; readonly freedom: number } {
  const cause = budget[from]?.shared
  let standard = 0
  let freedom = Infinity
  for (let index = from; index < budget.length; index++) {
    const part = budget[index]
    if (!part || part.shared !== cause) continue
    standard += standardOf(part)
    freedom = Math.min(freedom, part.freedom)
  }
  return { standard, freedom }
}
