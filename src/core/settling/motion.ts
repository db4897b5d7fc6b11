import type { Timed } from './spikes.ts'

/**
 * What the readings may be doing over a longer stretch than a straight line can follow: dying away to a rest with one of
 * several time constants, or going over a crest. In deltas and seconds.
 */
export interface Motion {
  readonly from: number
  readonly count: number
  /** Relaxations, each with what it leaves over and where it says the value is now and will be. */
  readonly relaxations: readonly Relaxation[]
  /** Least sum of squares that any relaxation leaves, and that the parabola leaves. */
  readonly leastSquares: number
  readonly crestSquares: number
  /** How far the parabola goes within the time looked ahead. */
  readonly crestTravel: number
}

export interface Relaxation {
  readonly squares: number
  /** From the newest reading: the fitted value now, and after the time looked ahead. */
  readonly now: number
  readonly later: number
  /** Standard error of `later - now`, for a sigma of 1. */
  readonly seTravel: number
}

/** Each half of the one before, so that one exponential and squarings give them all, s. */
const LONGEST_S = 16
const SHORTEST_S = 0.5
const TIME_CONSTANTS_S = Array.from(
  { length: Math.log2(LONGEST_S / SHORTEST_S) + 1 },
  (_, index) => LONGEST_S / 2 ** index,
)
const LEAST = 6

/** Motions over windows of up to the given lengths, s, shortest first; stops after the first window that holds everything there is. */
export function motionsOver(
  samples: readonly Timed[],
  lengthsS: readonly number[],
  delta: number,
  aheadS: number,
): Motion[] {
  const newest = samples.at(-1)
  if (!newest) return []
  const motions: Motion[] = []
  const sums = emptySums()
  const fades = TIME_CONSTANTS_S.map((tauS) => Math.exp(-aheadS / tauS))
  let index = samples.length - 1
  for (const lengthS of lengthsS) {
    for (; index >= 0; index--) {
      const sample = samples[index]
      if (!sample || sample.atS - newest.atS < -lengthS - 1e-9) break
      addTo(sums, sample.atS - newest.atS, (sample.value - newest.value) / delta)
    }
    if (sums.count >= LEAST) motions.push(motionOf(sums, index + 1, aheadS, fades))
    if (index < 0) break
  }
  return motions
}

/** Sums over the readings so far: powers of t with v, and per time constant those of the fading exponential x. */
interface Sums {
  count: number
  v: number
  vv: number
  t: number
  tt: number
  ttt: number
  tttt: number
  tv: number
  ttv: number
  readonly x: Float64Array
  readonly xx: Float64Array
  readonly xv: Float64Array
}

function emptySums(): Sums {
  const size = TIME_CONSTANTS_S.length
  const perConstant = { x: new Float64Array(size), xx: new Float64Array(size), xv: new Float64Array(size) }
  return { count: 0, v: 0, vv: 0, t: 0, tt: 0, ttt: 0, tttt: 0, tv: 0, ttv: 0, ...perConstant }
}

function addTo(sums: Sums, t: number, v: number): void {
  const tt = t * t
  sums.count += 1
  sums.v += v
  sums.vv += v * v
  sums.t += t
  sums.tt += tt
  sums.ttt += tt * t
  sums.tttt += tt * tt
  sums.tv += t * v
  sums.ttv += tt * v
  let x = Math.exp(-t / LONGEST_S)
  for (let index = 0; index < TIME_CONSTANTS_S.length; index++) {
    sums.x[index] = (sums.x[index] ?? 0) + x
    sums.xx[index] = (sums.xx[index] ?? 0) + x * x
    sums.xv[index] = (sums.xv[index] ?? 0) + x * v
    x *= x
  }
}

function motionOf(sums: Sums, from: number, aheadS: number, fades: readonly number[]): Motion {
  const { count } = sums
  const mean = sums.v / count
  const squaresOfAll = Math.max(0, sums.vv - count * mean * mean)
  const relaxations: Relaxation[] = []
  let leastSquares = Number.POSITIVE_INFINITY
  for (const [index, fade] of fades.entries()) {
    const meanX = (sums.x[index] ?? 0) / count
    const sxx = (sums.xx[index] ?? 0) - count * meanX * meanX
    const sxv = (sums.xv[index] ?? 0) - meanX * sums.v
    const size = sxv / sxx
    const squares = Math.max(0, squaresOfAll - size * sxv)
    leastSquares = Math.min(leastSquares, squares)
    const seTravel = (1 - fade) / Math.sqrt(sxx)
    relaxations.push({ squares, now: mean + size * (1 - meanX), later: mean + size * (fade - meanX), seTravel })
  }
  const crest = crestOf(sums, mean, squaresOfAll, aheadS)
  return { from, count, relaxations, leastSquares, crestSquares: crest.squares, crestTravel: crest.travel }
}

/** Least squares parabola about the mean time: what it leaves, and how far it goes from now within `aheadS`. */
function crestOf(
  sums: Sums,
  mean: number,
  squaresOfAll: number,
  aheadS: number,
): { readonly squares: number; readonly travel: number } {
  const n = sums.count
  const m = sums.t / n
  const s2 = sums.tt - n * m * m
  const s3 = sums.ttt - 3 * m * sums.tt + 2 * n * m ** 3
  const s4 = sums.tttt - 4 * m * sums.ttt + 6 * m * m * sums.tt - 3 * n * m ** 4
  const sv = sums.tv - m * sums.v
  const sqv = sums.ttv - 2 * m * sums.tv + m * m * sums.v - mean * s2
  const bend = (sqv - (s3 / s2) * sv) / (s4 - (s2 * s2) / n - (s3 * s3) / s2)
  const slope = (sv - bend * s3) / s2
  const slopeNow = slope - 2 * bend * m
  const crestS = bend === 0 ? 0 : -slopeNow / (2 * bend)
  const turnsS = crestS > 0 && crestS < aheadS ? crestS : aheadS
  const travelAt = [aheadS, turnsS].map((aS) => Math.abs(slopeNow * aS + bend * aS * aS))
  return { squares: Math.max(0, squaresOfAll - slope * sv - bend * sqv), travel: Math.max(...travelAt) }
}
