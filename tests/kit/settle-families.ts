import type { Rng } from '../../src/system/rng.ts'
import { normal } from '../../src/system/rng.ts'

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
}

const plain: Meter = { name: '', sigma: 0.1, spikes: 0, smoothing: 0, step: 0, everyS: 0.25, jitterS: 0.02 }

/** The meters that a settling test has to live with: three noises, then spikes, averaging and a coarse display. */
export const METERS: readonly Meter[] = [
  { ...plain, name: 'sigma 0.10', sigma: 0.1 },
  { ...plain, name: 'sigma 0.25', sigma: 0.25 },
  { ...plain, name: 'sigma 0.50', sigma: 0.5 },
  { ...plain, name: 'sigma 0.25, 3 % spikes', sigma: 0.25, spikes: 0.03 },
  { ...plain, name: 'sigma 0.25, smoothed 0.6', sigma: 0.25, smoothing: 0.6 },
  { ...plain, name: 'sigma 0.10, step 0.5', sigma: 0.1, step: 0.5 },
]

/** How long the answer must stay true, when readings begin to count, and how long a record is, s. */
export const HOLDS_S = 5
export const HOLD_OFF_S = 2
export const RECORD_S = 45

export interface TrueRecord {
  readonly family: Family
  readonly truth: (atS: number) => number
  readonly samples: readonly { readonly atS: number; readonly value: number }[]
  /** First moment from which the truth moves no more than delta in `HOLDS_S`, for good; null where it never does. */
  readonly stillFromS: number | null
}

/** One record of a family as seen by a meter; only readings after the hold-off are in it. */
export function recordOf(family: Family, meter: Meter, rng: Rng): TrueRecord {
  const truth = TRUTHS[family](rng)
  return { family, truth, samples: seenBy(meter, truth, rng), stillFromS: stillFrom(truth) }
}

const between = (rng: Rng, low: number, high: number) => low + (high - low) * rng()
const sign = (rng: Rng) => (rng() < 0.5 ? -1 : 1)

const TRUTHS: Record<Family, (rng: Rng) => (atS: number) => number> = {
  step: (rng) => {
    const size = sign(rng) * between(rng, 2, 40)
    const latencyS = between(rng, 0, 1.5)
    const tauS = between(rng, 0.15, 1.5)
    return (atS) => (atS < latencyS ? 0 : size * (1 - Math.exp(-(atS - latencyS) / tauS)))
  },
  'slow tail': (rng) => {
    const size = sign(rng) * between(rng, 2, 20)
    const tauS = between(rng, 6, 15)
    return (atS) => size * Math.exp(-atS / tauS)
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
    return (atS) => {
      const corner = corners.findLast((one) => one.fromS <= atS)
      if (!corner) return last
      const share = Math.min(1, (atS - corner.fromS) / (corner.toS - corner.fromS))
      return corner.from + (corner.to - corner.from) * share
    }
  },
  'creep back': (rng) => {
    const releaseS = between(rng, 1, 4)
    const creep = sign(rng) * between(rng, 1.2, 6)
    const tauS = between(rng, 1, 4)
    const speed = sign(rng) * between(rng, 2, 8)
    return (atS) => (atS < releaseS ? speed * (atS - releaseS) : creep * (1 - Math.exp(-(atS - releaseS) / tauS)))
  },
  'endless ramp': (rng) => {
    const slope = (sign(rng) * between(rng, 1.25, 8)) / HOLDS_S
    return (atS) => slope * atS
  },
  'slow hum': (rng) => {
    const size = between(rng, 1.2, 4)
    const periodS = between(rng, 3, 12)
    const phase = between(rng, 0, 2 * Math.PI)
    return (atS) => size * Math.sin((2 * Math.PI * atS) / periodS + phase)
  },
  steady: () => () => 0,
}

function seenBy(meter: Meter, truth: (atS: number) => number, rng: Rng): { atS: number; value: number }[] {
  const samples: { atS: number; value: number }[] = []
  const keep = meter.smoothing
  let shown = truth(0)
  let noise = meter.sigma * normal(rng)
  const firstS = rng() * meter.everyS
  for (let index = 0; ; index++) {
    const atS = firstS + index * meter.everyS + (rng() - 0.5) * 2 * meter.jitterS
    if (atS > RECORD_S) return samples
    shown = keep * shown + (1 - keep) * truth(atS)
    noise = keep * noise + Math.sqrt(1 - keep * keep) * meter.sigma * normal(rng)
    const spike = rng() < meter.spikes ? sign(rng) * between(rng, 3, 30) : 0
    const value = shown + noise + spike
    if (atS >= HOLD_OFF_S)
      samples.push({ atS, value: meter.step > 0 ? Math.round(value / meter.step) * meter.step : value })
  }
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

/** A capture is false when the truth leaves it, or its own place at that moment, by more than delta within `HOLDS_S`. */
export function isFalse(record: TrueRecord, atS: number, captured: number): boolean {
  return farthest(record.truth, atS, captured) > 1 || farthest(record.truth, atS, record.truth(atS)) > 1
}
