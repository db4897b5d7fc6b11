import { studentBelow } from '../statistics/student.ts'
import { type Band, halfWidth, judge } from './band.ts'
import { beforehand, budgetOf, type MeterDoubt } from './meter-budget.ts'
import { type Combined, combine } from './uncertainty.ts'

/**
 * Probability, 0 to 1, that the true value lies inside the band: the share of Student's t about the value, of the normal
 * distribution for endless degrees of freedom (JCGM 106 clause 7; JCGM 101 6.4.9). A side without an edge is inside.
 */
export function conformance(
  value: number,
  { standard, freedom }: Pick<Combined, 'standard' | 'freedom'>,
  band: Band,
): number {
  if (!Number.isFinite(value)) return Number.NaN
  if (standard === 0) return judge(value, band) === 'inside' ? 1 : 0
  const low = band.low === null ? Number.NEGATIVE_INFINITY : (band.low - value) / standard
  const high = band.high === null ? Number.POSITIVE_INFINITY : (band.high - value) / standard
  const below = (z: number) => (Number.isFinite(z) ? studentBelow(z, freedom) : z < 0 ? 0 : 1)
  // both edges on one side: the difference of the small tails, not of two shares near 1
  const inside = low > 0 ? below(-low) - below(-high) : below(high) - below(low)
  return Math.min(1, Math.max(0, inside))
}

/** The uncertainty is wider than half the band, both in one unit: no value can be shown to be clear of both edges. */
export function tooCoarse(expanded: number, half: number): boolean {
  return expanded > half
}

/** Known before the first reading: the meter is too coarse to prove this band. A band with one edge can always be kept clear of. */
export function provesNothing(doubt: MeterDoubt, band: Band): boolean {
  if (band.low === null || band.high === null) return false
  const aim = band.aim ?? (band.low + band.high) / 2
  return tooCoarse(combine(budgetOf(doubt, beforehand(doubt, aim))).expanded, halfWidth(band))
}
