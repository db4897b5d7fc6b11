/** One frequency of a set that grows warm: bench time, s, and Hz. */
export interface WarmSample {
  readonly atS: number
  readonly hz: number
}

/** One way in which the samples may go on: end + size * exp(-t / tauS); t, s, and end, Hz, are counted from the first sample. */
export interface WarmCurve {
  readonly tauS: number
  readonly end: number
  readonly size: number
  /** How much the samples speak for it; all weights add up to 1. */
  readonly weight: number
  /** Standard deviation of one sample about it, Hz. */
  readonly sigma: number
  readonly count: number
  /** Mean of exp(-t / tauS) over the samples, and the sum of squares about it: what the errors of `end` and `size` follow from. */
  readonly meanFade: number
  readonly fadeSquares: number
}

/** Everything that the samples leave possible. */
export interface WarmFit {
  /** The first sample, from which the curves count. */
  readonly from: WarmSample
  readonly curves: readonly WarmCurve[]
}

/** A value of the fit with its standard error, made of the noise and of the time constants that are still possible. */
export interface Fitted {
  readonly value: number
  readonly error: number
}

/** A set's time constant lies between these, s (a small handheld, a large base set in its cabinet). */
const SHORTEST_S = 120
const LONGEST_S = 1200
const COARSE = 24
const FINE = 32
/** A time constant whose weight is below e^-12 of the best one's is not looked at more closely. */
const POSSIBLE = 12
/** Weight of the counter's usual noise, as so many samples. */
const PRIOR = 6

/**
 * Fits the samples, at least three, given in order of time: a coarse grid over all time constants, then a fine one over those that
 * remain possible. `noiseHz`: usual standard deviation of one sample, above 0.
 */
export function warmFit(samples: readonly WarmSample[], noiseHz: number): WarmFit {
  const from = samples[0]
  if (!from || samples.length < 3) throw new TypeError(`${samples.length} samples do not make a curve`)
  const t = Float64Array.from(samples, ({ atS }) => atS - from.atS)
  const y = Float64Array.from(samples, ({ hz }) => hz - from.hz)
  const meanY = y.reduce((sum, one) => sum + one, 0) / y.length
  const seen = { t, y: y.map((one) => one - meanY), meanY, noiseHz, fades: new Float64Array(t.length) }
  const coarse = gridOf(SHORTEST_S, LONGEST_S, COARSE).map((tauS) => curveOf(seen, tauS))
  const best = Math.max(...coarse.map(({ logWeight }) => logWeight))
  const possible = (curve: Weighed) => curve.logWeight >= best - POSSIBLE
  const low = coarse[Math.max(0, coarse.findIndex(possible) - 1)]?.tauS ?? SHORTEST_S
  const high = coarse[Math.min(COARSE - 1, coarse.findLastIndex(possible) + 1)]?.tauS ?? LONGEST_S
  return { from, curves: weighted(gridOf(low, high, FINE).map((tauS) => curveOf(seen, tauS))) }
}

/** Where it will end, Hz. */
export function endOf({ from, curves }: WarmFit): Fitted {
  const end = mixed(curves, (curve) => [curve.end, errorOf(curve, 1 / curve.count, curve.meanFade)])
  return { value: from.hz + end.value, error: end.error }
}

/** How far it still is from its end at `atS`, Hz: positive where it is above. */
export function awayFromEnd({ from, curves }: WarmFit, atS: number): Fitted {
  return mixed(curves, (curve) => partOf(curve, Math.exp(-(atS - from.atS) / curve.tauS)))
}

/** How fast it moves at `atS`, Hz a second. */
export function driftAt({ from, curves }: WarmFit, atS: number): Fitted {
  return mixed(curves, (curve) => partOf(curve, -Math.exp(-(atS - from.atS) / curve.tauS) / curve.tauS))
}

interface Seen {
  readonly t: Float64Array
  /** About their mean. */
  readonly y: Float64Array
  readonly meanY: number
  readonly noiseHz: number
  /** Room for the work on one curve. */
  readonly fades: Float64Array
}

type Weighed = Omit<WarmCurve, 'weight'> & { readonly logWeight: number }

/** Straight line of the samples against exp(-t / tauS), sums in two passes; its weight is the likelihood with the noise left open (Student's form). */
function curveOf({ t, y, meanY, noiseHz, fades }: Seen, tauS: number): Weighed {
  const count = t.length
  let meanFade = 0
  for (let index = 0; index < count; index++) {
    const fade = Math.exp(-(t[index] ?? 0) / tauS)
    fades[index] = fade
    meanFade += fade / count
  }
  let fadeSquares = 0
  let products = 0
  for (let index = 0; index < count; index++) {
    const fade = (fades[index] ?? 0) - meanFade
    fadeSquares += fade * fade
    products += fade * (y[index] ?? 0)
  }
  const size = products / fadeSquares
  let left = 0
  for (let index = 0; index < count; index++) left += ((y[index] ?? 0) - size * ((fades[index] ?? 0) - meanFade)) ** 2
  const free = count - 2 + PRIOR
  const variance = (left + PRIOR * noiseHz * noiseHz) / free
  return {
    tauS,
    end: meanY - size * meanFade,
    size,
    sigma: Math.sqrt(variance),
    count,
    meanFade,
    fadeSquares,
    logWeight: (-free / 2) * Math.log(variance),
  }
}

function weighted(curves: readonly Weighed[]): readonly WarmCurve[] {
  const best = Math.max(...curves.map(({ logWeight }) => logWeight))
  const raw = curves.map(({ logWeight }) => Math.exp(logWeight - best))
  const all = raw.reduce((sum, weight) => sum + weight, 0)
  return curves.map(({ logWeight: _, ...curve }, index) => ({ ...curve, weight: (raw[index] ?? 0) / all }))
}

function gridOf(from: number, to: number, count: number): number[] {
  return Array.from({ length: count }, (_, index) => from * (to / from) ** (index / (count - 1)))
}

function errorOf(curve: WarmCurve, own: number, share: number): number {
  return curve.sigma * Math.sqrt(own + (share * share) / curve.fadeSquares)
}

function partOf(curve: WarmCurve, share: number): readonly [number, number] {
  return [curve.size * share, errorOf(curve, 0, share)]
}

/** Mean over the curves, and the error within and between them. */
function mixed(curves: readonly WarmCurve[], pick: (curve: WarmCurve) => readonly [number, number]): Fitted {
  const picked = curves.map((curve) => ({ weight: curve.weight, of: pick(curve) }))
  const value = picked.reduce((sum, { weight, of }) => sum + weight * of[0], 0)
  const variance = picked.reduce((sum, { weight, of }) => sum + weight * ((of[0] - value) ** 2 + of[1] ** 2), 0)
  return { value, error: Math.sqrt(variance) }
}
