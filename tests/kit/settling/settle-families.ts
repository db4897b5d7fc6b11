import type { Rng } from '../../../src/system/rng.ts'
import { normal } from '../../../src/system/rng.ts'

/**
 * Seven kinds of record with a known truth, in units of delta (the change that does not matter), for judging a
 * settling test. The ranges of the parameters are written here once; a percentage means nothing without them.
 */
export const FAMILIES = [
  'step',
  'slow tail',
  'hand turning',
  'creep back',
  'endless ramp',
  'slow hum',
  'steady',
] as const
export type Family = (typeof FAMILIES)[number]

/** What the meter does to the truth; everything in delta, `everyS` and `jitterS` in seconds. */
export interface Meter {
  readonly name: string
  readonly sigma: number
  /** Share of readings that are spikes of 3 to 30 delta. */
  readonly spikes: number
  /** Lag-1 correlation: the meter averages, its noise and the truth alike. */
  readonly smoothing: number
  /** Display step; 0 for none. */
  readonly step: number
  readonly everyS: number
  readonly jitterS: number
  /** How long it takes until a reading shows what is there, s; 0 when absent. */
  readonly lagS?: number
  /** Noise of Student's t with three degrees of freedom, of the same sigma. */
  readonly heavy?: boolean
}

export const PLAIN_METER: Meter = {
  name: '',
  sigma: 0.1,
  spikes: 0,
  smoothing: 0,
  step: 0,
  everyS: 0.25,
  jitterS: 0.02,
}

/** The meters that a settling test has to live with: three noises, then spikes, averaging and a coarse display. */
export const METERS: readonly Meter[] = [
  { ...PLAIN_METER, name: 'sigma 0.10', sigma: 0.1 },
  { ...PLAIN_METER, name: 'sigma 0.25', sigma: 0.25 },
  { ...PLAIN_METER, name: 'sigma 0.50', sigma: 0.5 },
  { ...PLAIN_METER, name: 'sigma 0.25, 3 % spikes', sigma: 0.25, spikes: 0.03 },
  { ...PLAIN_METER, name: 'sigma 0.25, smoothed 0.6', sigma: 0.25, smoothing: 0.6 },
  { ...PLAIN_METER, name: 'sigma 0.10, step 0.5', sigma: 0.1, step: 0.5 },
]

/** How long the answer must stay true, when readings begin to count, and how long a record is, s. */
export const HOLDS_S = 5
export const HOLD_OFF_S = 2
export const RECORD_S = 45

export interface TrueRecord {
  readonly family: Family
  readonly truth: (atS: number) => number
  /** What an oracle is told of it. */
  readonly law: Law
  readonly samples: readonly { readonly atS: number; readonly value: number }[]
  /** First moment from which the truth moves no more than delta in `HOLDS_S`, for good; null where it never does. */
  readonly stillFromS: number | null
  /** When something was touched without the test being told; what was said before is not judged by what came after. */
  readonly touchedS: number | null
  /** When readings came again after a while without; null where none were lost. */
  readonly againFromS: number | null
}

/** The form of a truth: from `fromS` on it fades to a rest with `tauS`, or follows a straight line (steady: of slope 0), or never rests. */
export type Law =
  | { readonly kind: 'fade'; readonly fromS: number; readonly tauS: number }
  | { readonly kind: 'line'; readonly fromS: number }
  | { readonly kind: 'wave' }

/** A truth and its form. */
export interface Truth {
  readonly at: (atS: number) => number
  readonly law: Law
}

/** One record of a family as seen by a meter; only readings after the hold-off are in it. */
export function recordOf(family: Family, meter: Meter, rng: Rng): TrueRecord {
  const truth = truthOf(family, rng)
  return recordFrom(family, truth, seenBy(meter, truth.at, rng))
}

/** A truth and what was seen of it. */
export function recordFrom(
  family: Family,
  { at, law }: Truth,
  samples: TrueRecord['samples'],
  touchedS: number | null = null,
): TrueRecord {
  return { family, truth: at, law, samples, stillFromS: stillFrom(at), touchedS, againFromS: null }
}

/** What happens in one record of a family; in delta. */
export function truthOf(family: Family, rng: Rng): Truth {
  return TRUTHS[family](rng)
}

/** A number evenly between two. */
export const between = (rng: Rng, low: number, high: number) => low + (high - low) * rng()
/** -1 or +1. */
export const sign = (rng: Rng) => (rng() < 0.5 ? -1 : 1)

const TRUTHS: Record<Family, (rng: Rng) => Truth> = {
  step: (rng) => {
    const size = sign(rng) * between(rng, 2, 40)
    const latencyS = between(rng, 0, 1.5)
    const tauS = between(rng, 0.15, 1.5)
    const at = (atS: number) => (atS < latencyS ? 0 : size * (1 - Math.exp(-(atS - latencyS) / tauS)))
    return { at, law: { kind: 'fade', fromS: latencyS, tauS } }
  },
  'slow tail': (rng) => {
    const size = sign(rng) * between(rng, 2, 20)
    const tauS = between(rng, 6, 15)
    return { at: (atS) => size * Math.exp(-atS / tauS), law: { kind: 'fade', fromS: 0, tauS } }
  },
  'hand turning': (rng) => {
    const corners: { fromS: number; toS: number; from: number; to: number }[] = []
    const untilS = between(rng, 5, 20)
    let at = sign(rng) * between(rng, 5, 30)
    for (let atS = 0; atS < untilS; ) {
      const moveS = between(rng, 0.2, 0.8)
      const to = at + sign(rng) * between(rng, 1.2, 8)
      corners.push({ fromS: atS, toS: atS + moveS, from: at, to })
      at = to
      atS += moveS + between(rng, 0.6, 1.6)
    }
    const last = at
    const rest = (atS: number) => {
      const corner = corners.findLast((one) => one.fromS <= atS)
      if (!corner) return last
      const share = Math.min(1, (atS - corner.fromS) / (corner.toS - corner.fromS))
      return corner.from + (corner.to - corner.from) * share
    }
    return { at: rest, law: { kind: 'line', fromS: corners.at(-1)?.toS ?? 0 } }
  },
  'creep back': (rng) => {
    const releaseS = between(rng, 1, 4)
    const creep = sign(rng) * between(rng, 1.2, 6)
    const tauS = between(rng, 1, 4)
    const speed = sign(rng) * between(rng, 2, 8)
    const at = (atS: number) =>
      atS < releaseS ? speed * (atS - releaseS) : creep * (1 - Math.exp(-(atS - releaseS) / tauS))
    return { at, law: { kind: 'fade', fromS: releaseS, tauS } }
  },
  'endless ramp': (rng) => {
    const slope = (sign(rng) * between(rng, 1.25, 8)) / HOLDS_S
    return { at: (atS) => slope * atS, law: { kind: 'line', fromS: 0 } }
  },
  'slow hum': (rng) => {
    const size = between(rng, 1.2, 4)
    const periodS = between(rng, 3, 12)
    const phase = between(rng, 0, 2 * Math.PI)
    return { at: (atS) => size * Math.sin((2 * Math.PI * atS) / periodS + phase), law: { kind: 'wave' } }
  },
  steady: () => ({ at: () => 0, law: { kind: 'line', fromS: 0 } }),
}

/** The readings of a meter from the hold-off on: 2 s, or three times what the meter lags behind. */
export function seenBy(
  meter: Meter,
  truth: (atS: number) => number,
  rng: Rng,
): { readonly atS: number; readonly value: number }[] {
  const samples: { atS: number; value: number }[] = []
  const keep = meter.smoothing
  const lagS = meter.lagS ?? 0
  const fromS = Math.max(HOLD_OFF_S, 3 * lagS)
  const noiseOf = meter.heavy ? heavyTailed : normal
  let shown = truth(-lagS)
  let noise = meter.sigma * noiseOf(rng)
  const firstS = rng() * meter.everyS
  for (let index = 0; ; index++) {
    const atS = firstS + index * meter.everyS + (rng() - 0.5) * 2 * meter.jitterS
    if (atS > RECORD_S) return samples
    shown = keep * shown + (1 - keep) * truth(atS - lagS)
    noise = keep * noise + Math.sqrt(1 - keep * keep) * meter.sigma * noiseOf(rng)
    const spike = rng() < meter.spikes ? sign(rng) * between(rng, 3, 30) : 0
    const value = shown + noise + spike
    if (atS >= fromS) samples.push({ atS, value: meter.step > 0 ? Math.round(value / meter.step) * meter.step : value })
  }
}

/** Student's t with three degrees of freedom, scaled to a variance of 1. */
function heavyTailed(rng: Rng): number {
  const chi = normal(rng) ** 2 + normal(rng) ** 2 + normal(rng) ** 2
  return normal(rng) / Math.sqrt(chi)
}

const GRID_S = 0.05

/** The most that the truth departs from `from` in the `HOLDS_S` after `atS`. */
function farthest(truth: (atS: number) => number, atS: number, from: number): number {
  let most = 0
  for (let ahead = 0; ahead <= HOLDS_S + 1e-9; ahead += GRID_S)
    most = Math.max(most, Math.abs(truth(atS + ahead) - from))
  return most
}

function stillFrom(truth: (atS: number) => number): number | null {
  const ahead = Math.round(HOLDS_S / GRID_S)
  const places = Array.from({ length: Math.round((RECORD_S - HOLD_OFF_S) / GRID_S) + 1 }, (_, index) =>
    truth(HOLD_OFF_S + index * GRID_S),
  )
  const movesFrom = (from: number) =>
    places.slice(from, from + ahead + 1).some((place) => Math.abs(place - (places[from] ?? 0)) > 1)
  const lastMoving = places.slice(0, -ahead).findLastIndex((_, index) => movesFrom(index))
  const first = lastMoving + 1
  return first < places.length - ahead ? HOLD_OFF_S + first * GRID_S : null
}

/** A capture is false when the truth leaves it, or its own place at that moment, by more than delta within `HOLDS_S`, or until it is touched. */
export function isFalse(record: TrueRecord, atS: number, captured: number): boolean {
  const { touchedS, truth } = record
  const untilS = touchedS !== null && touchedS > atS ? touchedS - GRID_S : Number.POSITIVE_INFINITY
  const untouched = (aheadS: number) => truth(Math.min(aheadS, untilS))
  return farthest(untouched, atS, captured) > 1 || farthest(untouched, atS, untouched(atS)) > 1
}
