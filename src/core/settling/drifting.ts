import { jumpIn } from './jump.ts'
import type { SettleRule } from './settle-rule.ts'
import type { Rested } from './settling.ts'
import { MEAN_ERROR, scaleAt } from './still.ts'
import { linesThrough } from './straight-line.ts'

/** A reading that has not come to rest, but moves so evenly and so slowly that it stays in its band for as long as it must. */
export interface Drifting {
  /** Where the line is at the newest reading, in the unit of the readings. */
  readonly value: number
  /** Unit of the readings per second, stored with the capture. */
  readonly slope: number
  /** Where the slope will have carried it when it must still be in, and the half width of that (95 %). */
  readonly endsAt: number
  readonly doubt: number
  readonly count: number
  /** Of the readings about the line, in their unit. */
  readonly spread: number
  readonly windowS: number
}

/** A drift that is captured must stay inside its band for this long at least, s: no claim is made of later. */
export const DRIFT_AHEAD_S = 15

/** The straight line is drawn through the longest of these that the readings fill, s; a shorter one must agree with it. */
const WINDOWS_S = [5, 7, 10]
const HALF_WIDTH = 2
const AGREE_ERRORS = 2.5

/**
 * Whether a reading that is still `settling` may be captured as drifting: a straight line through its last 5 to 10 s stays inside the
 * band, doubt included, for `aheadS` (until it is read again as left). null where it may not: at rest, jumping, bending away, too
 * near an edge. `low` and `high` in the unit of the readings, null where the band is open.
 */
export function driftingIn(
  { verdict, samples }: Pick<Rested, 'verdict' | 'samples'>,
  rule: SettleRule,
  { low, high }: { readonly low: number | null; readonly high: number | null },
  aheadS: number,
): Drifting | null {
  const newest = samples.at(-1)
  if (verdict !== 'settling' || !newest) return null
  const scale = scaleAt(rule, newest.value)
  const lines = linesThrough(samples, WINDOWS_S, scale, rule.everyS)
  const line = lines.at(-1)
  const shortest = lines[0]
  if (!line || !shortest || line.seMean > MEAN_ERROR || jumpIn(samples, scale) > line.from) return null
  // a slope that dies away ends nearer than the line says; one that grows is a hand at work
  if (Math.abs(shortest.slope) > Math.abs(line.slope) + AGREE_ERRORS * Math.hypot(shortest.seSlope, line.seSlope))
    return null
  const valueAt = (atS: number) => newest.value + scale.delta * (line.mean + line.slope * (line.meanAgeS + atS))
  const doubtAt = (atS: number) =>
    HALF_WIDTH * scale.delta * Math.hypot(line.seMean, line.seSlope * (line.meanAgeS + atS))
  const isIn = (atS: number) =>
    (low === null || valueAt(atS) - doubtAt(atS) >= low) && (high === null || valueAt(atS) + doubtAt(atS) <= high)
  if (!isIn(0) || !isIn(aheadS)) return null
  return {
    value: valueAt(0),
    slope: line.slope * scale.delta,
    endsAt: valueAt(aheadS),
    doubt: doubtAt(aheadS),
    count: line.count,
    spread: scale.delta * Math.sqrt(line.variance),
    windowS: line.windowS,
  }
}
