import type { Sample } from './spikes.ts'

const MOST = 40
const LEAST = 10
const LEAST_SHARE = 0.2
/** The gap between the heaps: at least so many deltas, and so many times the spread within them. */
const GAP_DELTAS = 1
const GAP_SPREADS = 3
/** A step crosses once; jumping to and fro crosses at least this often. */
const CROSSINGS = 3

/**
 * The means of the two heaps that the newest readings jump between (auto-range hunting, a bad contact); null when they do not.
 * `delta` in the unit of the readings.
 */
export function heapsOf(samples: readonly Sample[], delta: number): readonly [number, number] | null {
  if (samples.length < LEAST || !jumpsAbout(samples, delta)) return null
  const sorted = samples.slice(-MOST).map((one) => one.raw)
  sorted.sort((a, b) => a - b)
  const least = Math.ceil(LEAST_SHARE * sorted.length)
  let split = least
  for (let index = least; index <= sorted.length - least; index++)
    if (gapBefore(sorted, index) > gapBefore(sorted, split)) split = index
  const low = heap(sorted.slice(0, split))
  const high = heap(sorted.slice(split))
  const gap = gapBefore(sorted, split)
  return gap >= Math.max(GAP_DELTAS * delta, GAP_SPREADS * low.spread, GAP_SPREADS * high.spread)
    ? [low.mean, high.mean]
    : null
}

/** Cheap enough for every reading: a range of more than the least gap, its middle crossed to and fro. */
function jumpsAbout(samples: readonly Sample[], delta: number): boolean {
  const from = Math.max(0, samples.length - MOST)
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  for (let index = from; index < samples.length; index++) {
    const raw = samples[index]?.raw ?? low
    if (raw < low) low = raw
    if (raw > high) high = raw
  }
  if (high - low <= GAP_DELTAS * delta) return false
  const middle = (low + high) / 2
  let crossings = 0
  let wasAbove = (samples[from]?.raw ?? middle) > middle
  for (let index = from + 1; index < samples.length; index++) {
    const above = (samples[index]?.raw ?? middle) > middle
    if (above !== wasAbove) crossings += 1
    wasAbove = above
  }
  return crossings >= CROSSINGS
}

const gapBefore = (sorted: readonly number[], index: number) => (sorted[index] ?? 0) - (sorted[index - 1] ?? 0)

function heap(values: readonly number[]): { readonly mean: number; readonly spread: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0)
  return { mean, spread: Math.sqrt(squares / values.length) }
}
