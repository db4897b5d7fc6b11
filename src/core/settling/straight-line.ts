import type { Timed } from './spikes.ts'

/** What is known of the meter's noise, in deltas. */
export interface Noise {
  /** Usual sigma of one reading; 0 where nobody knows. */
  readonly sigma: number
  /** Least sigma that a display step allows. */
  readonly floor: number
  readonly smoothing: number
}

/** A straight line through the newest readings, in deltas and seconds; ages count back from the newest reading. */
export interface Line {
  /** Index of the oldest reading in it. */
  readonly from: number
  readonly count: number
  readonly windowS: number
  readonly meanAgeS: number
  /** Mean, from the newest reading. */
  readonly mean: number
  readonly slope: number
  readonly seSlope: number
  readonly seMean: number
  /** Variance of the residuals, and the sigma used for the errors. */
  readonly variance: number
  readonly sigma: number
  /** How much less a smoothed meter's readings say than they seem to: the root of (1+r)/(1-r). */
  readonly dullness: number
}

/** Weight of the meter's stated sigma, as so many readings. */
const PRIOR = 6
const MOST_CORRELATION = 0.95
const LEAST = 3
/** Without a stated sigma two residuals say nothing. */
const LEAST_UNKNOWN = 5

/**
 * Lines through windows of the given lengths, s, shortest first; windows that the readings do not fill are left out. Stops
 * after the first line that is `enough`: this runs for every reading, and a steady one needs few of them.
 */
export function linesThrough(
  samples: readonly Timed[],
  lengthsS: readonly number[],
  scale: { readonly delta: number; readonly noise: Noise },
  everyS: number,
  enough: (line: Line, shorter: readonly Line[]) => boolean = () => false,
): Line[] {
  const newest = samples.at(-1)
  if (!newest) return []
  const lines: Line[] = []
  const least = scale.noise.sigma > 0 ? LEAST : LEAST_UNKNOWN
  const sums = { count: 0, t: 0, tt: 0, v: 0, tv: 0, vv: 0, oldestS: 0 }
  let index = samples.length - 1
  for (const lengthS of lengthsS) {
    for (; index >= 0; index--) {
      const sample = samples[index]
      if (!sample || sample.atS - newest.atS < -lengthS - 1e-9) break
      addTo(sums, sample.atS - newest.atS, (sample.value - newest.value) / scale.delta)
    }
    const full = sums.oldestS >= lengthS - everyS - 1e-9
    if (!full || sums.count < least) continue
    const line = lineOf(samples, index + 1, sums, scale)
    lines.push(line)
    if (enough(line, lines)) break
  }
  return lines
}

/** Means, and the sums of squares and products about them. */
interface Sums {
  count: number
  t: number
  tt: number
  v: number
  tv: number
  vv: number
  oldestS: number
}

/** Moves means and sums by one reading: sums of plain squares would lose the noise of a reading that drifts far. */
function addTo(sums: Sums, t: number, v: number): void {
  sums.count += 1
  const dt = t - sums.t
  const dv = v - sums.v
  sums.t += dt / sums.count
  sums.v += dv / sums.count
  sums.tt += dt * (t - sums.t)
  sums.tv += dt * (v - sums.v)
  sums.vv += dv * (v - sums.v)
  sums.oldestS = -t
}

function lineOf(
  samples: readonly Timed[],
  from: number,
  sums: Sums,
  { delta, noise }: { readonly delta: number; readonly noise: Noise },
): Line {
  const { count } = sums
  const free = count - 2
  const mean = sums.v
  const meanAgeS = -sums.t
  const slope = sums.tv / sums.tt
  const squares = Math.max(0, sums.vv - slope * sums.tv)
  const variance = squares / free
  const prior = noise.sigma > 0 ? PRIOR : 0
  const stated = noise.sigma * noise.sigma + noise.floor * noise.floor
  const sigma = Math.sqrt(Math.max((squares + prior * stated) / (free + prior), noise.floor * noise.floor))
  // residuals no larger than the meter's own noise give no reason to look for a pattern in them
  const calm = prior > 0 && variance <= stated * (1 + 2 * Math.sqrt(2 / free))
  const seen =
    calm || squares === 0 ? 0 : correlation(samples, delta, { from, mean, slope, meanAgeS }) / squares + 1.5 / count
  const r = Math.min(MOST_CORRELATION, Math.max(seen, noise.smoothing))
  const dullness = Math.sqrt((1 + r) / (1 - r))
  return {
    from,
    count,
    windowS: sums.oldestS,
    meanAgeS,
    mean,
    slope,
    seSlope: (sigma * dullness) / Math.sqrt(sums.tt),
    seMean: (sigma * dullness) / Math.sqrt(count),
    variance,
    sigma,
    dullness,
  }
}

/** Sum of the products of neighbouring residuals of a line. */
function correlation(
  samples: readonly Timed[],
  delta: number,
  line: Pick<Line, 'from' | 'mean' | 'slope' | 'meanAgeS'>,
): number {
  const newest = samples.at(-1)
  if (!newest) return 0
  let before = 0
  let products = 0
  for (let index = line.from; index < samples.length; index++) {
    const sample = samples[index]
    if (!sample) break
    const left =
      (sample.value - newest.value) / delta - line.mean - line.slope * (sample.atS - newest.atS + line.meanAgeS)
    products += left * before
    before = left
  }
  return products
}
