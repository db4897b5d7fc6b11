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
  if (samples.length < LEAST || rangeOf(samples) <= GAP_DELTAS * delta) return null
  const raws = samples.slice(-MOST).map((one) => one.raw)
  const sorted = [...raws].sort((a, b) => a - b)
  const least = Math.ceil(LEAST_SHARE * raws.length)
  let split = least
  for (let index = least; index <= raws.length - least; index++)
    if (gapBefore(sorted, index) > gapBefore(sorted, split)) split = index
  const gap = gapBefore(sorted, split)
  if (gap < GAP_DELTAS * delta) return null
  const [low, high] = [sorted.slice(0, split), sorted.slice(split)]
  if (gap < GAP_SPREADS * Math.max(spreadOf(low), spreadOf(high))) return null
  const between = (sorted[split] ?? 0) - gap / 2
  const crossings = raws.reduce(
    (count, raw, index) => count + (index > 0 && raw > between !== (raws[index - 1] ?? raw) > between ? 1 : 0),
    0,
  )
  return crossings < CROSSINGS ? null : [meanOf(low), meanOf(high)]
}

const gapBefore = (sorted: readonly number[], index: number) => (sorted[index] ?? 0) - (sorted[index - 1] ?? 0)

const meanOf = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length

function spreadOf(values: readonly number[]): number {
  const mean = meanOf(values)
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length)
}

function rangeOf(samples: readonly Sample[]): number {
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  for (let index = Math.max(0, samples.length - MOST); index < samples.length; index++) {
    const raw = samples[index]?.raw ?? low
    if (raw < low) low = raw
    if (raw > high) high = raw
  }
  return high - low
}
