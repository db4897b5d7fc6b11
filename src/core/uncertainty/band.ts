/** What a reading is judged against, in the unit of the quantity. null on one side means open there. */
export interface Band {
  readonly low: number | null
  readonly high: number | null
  /** Where the hand should go; null where the sheet names none: then the middle. */
  readonly aim: number | null
}

export type Verdict = 'inside' | 'low' | 'high' | 'unread'

/** Share of the limit that stands for the missing half of a one-sided band. */
const ONE_SIDED = 0.1

interface Side {
  /** Distance from the aim to the edge, in the unit of the quantity, above 0. */
  readonly scale: number
  /** There is no edge on this side: everything there is inside. */
  readonly open: boolean
  /** The aim sits on the edge itself. */
  readonly onEdge: boolean
}

interface Places {
  readonly aim: number
  readonly below: Side
  readonly above: Side
}

/**
 * Error e: 0 at the aim, -1 and +1 at the slot's edges, so that `inside` and -1 <= e <= 1 say the same. On an open side it
 * nears the edge without reaching it. `oneSidedScale` is the width given to an open side, by default 10 % of the limit.
 * NaN for NaN. Never throws, since every picture is drawn by it: an aim outside its band stands at the nearer edge, a band without
 * any limit has everything at 0. Files with such a band are refused at the door, and a job leaves their rows out.
 */
export function errorE(value: number, band: Band, oneSidedScale?: number): number {
  const { aim, below, above } = placesOf(band, oneSidedScale)
  return value >= aim ? eOn(above, value - aim) : -eOn(below, aim - value)
}

/** Half the width of the peg in e: the uncertainty, in the unit of the quantity, on the scale of the side where the value lies. */
export function pegHalfE(uncertainty: number, value: number, band: Band, oneSidedScale?: number): number {
  const { aim, below, above } = placesOf(band, oneSidedScale)
  const side = value >= aim ? above : below
  const away = Math.abs(value - aim) / side.scale
  const slope = side.open ? 1 / (1 + away) ** 2 : 1
  return (uncertainty / side.scale) * slope
}

/** Judges one reading; the edges are inside. No number (null, NaN, infinite) is `unread`, never a pass. */
export function judge(value: number | null, band: Band): Verdict {
  if (value === null || !Number.isFinite(value)) return 'unread'
  if (band.low !== null && value < band.low) return 'low'
  return band.high !== null && value > band.high ? 'high' : 'inside'
}

/** Judges a reading of several parts (both peaks of deviation): inside only if every part is; too high is named before too low. */
export function judgeParts(parts: readonly (number | null)[], band: Band): Verdict {
  const verdicts = new Set(parts.map((part) => judge(part, band)))
  for (const worst of ['unread', 'high', 'low'] as const) if (verdicts.has(worst)) return worst
  return verdicts.has('inside') ? 'inside' : 'unread'
}

/** Half width h of a band, in the unit of the quantity: half the distance of its edges, or the scale of a one-sided band. */
export function halfWidth(band: Band, oneSidedScale?: number): number {
  if (band.low !== null && band.high !== null) return (band.high - band.low) / 2
  const { below, above } = placesOf(band, oneSidedScale)
  return band.low === null ? above.scale : below.scale
}

function eOn(side: Side, distance: number): number {
  const away = distance / side.scale
  if (side.open) return 1 - 1 / (1 + away)
  return side.onEdge && away > 0 ? 1 + away : away
}

function placesOf(band: Band, oneSidedScale: number | undefined): Places {
  const { low, high } = band
  if (low !== null && high !== null) {
    const aim = within(band.aim ?? (low + high) / 2, low, high)
    const instead = Math.abs(high - low) || scaleOf(high)
    return { aim, below: closed(aim - low, instead), above: closed(high - aim, instead) }
  }
  const limit = low ?? high
  const scale = oneSidedScale ?? scaleOf(limit ?? 0)
  const open: Side = { scale, open: true, onEdge: false }
  if (limit === null) {
    const boundless: Side = { scale: Number.POSITIVE_INFINITY, open: true, onEdge: false }
    return { aim: band.aim ?? 0, below: boundless, above: boundless }
  }
  if (low === null) {
    const aim = Math.min(band.aim ?? limit - scale, limit)
    return { aim, below: open, above: closed(limit - aim, scale) }
  }
  const aim = Math.max(band.aim ?? limit + scale, limit)
  return { aim, below: closed(aim - limit, scale), above: open }
}

function within(aim: number, low: number, high: number): number {
  return Math.max(low, Math.min(high, aim))
}

function scaleOf(limit: number): number {
  return Math.abs(limit) * ONE_SIDED || 1
}

/** A side with an edge; where the aim sits on the edge, `instead` is its scale beyond it. */
function closed(width: number, instead: number): Side {
  return width > 0 ? { scale: width, open: false, onEdge: false } : { scale: instead, open: false, onEdge: true }
}
