/** A reading as it came, spikes and all. */
interface Raw {
  readonly value: number
}

const MOST = 40
const LEAST = 10
const LEAST_SHARE = 0.2
/** The gap between the heaps: at least so many deltas, and so many times the spread within them. */
const GAP_DELTAS = 1
const GAP_SPREADS = 3
/** A step crosses once; jumping to and fro crosses at least this often. */
const CROSSINGS = 3
/** Bits of a small whole number. */
const MOST_BOXES = 30

/**
 * The means of the two heaps that the newest readings jump between (auto-range hunting, a bad contact); null when they do not.
 * `delta` in the unit of the readings.
 */
export function heapsOf(samples: readonly Raw[], delta: number): readonly [number, number] | null {
  if (samples.length < LEAST || !jumpsAbout(samples, delta)) return null
  const sorted = new Float64Array(Math.min(MOST, samples.length))
  for (let index = 1; index <= sorted.length; index++) sorted[index - 1] = samples.at(-index)?.value ?? Number.NaN
  sorted.sort()
  const least = Math.ceil(LEAST_SHARE * sorted.length)
  let split = least
  for (let index = least; index <= sorted.length - least; index++)
    if (gapBefore(sorted, index) > gapBefore(sorted, split)) split = index
  const gap = gapBefore(sorted, split)
  if (gap < GAP_DELTAS * delta) return null
  const low = heap(sorted.subarray(0, split))
  const high = heap(sorted.subarray(split))
  return gap >= GAP_SPREADS * Math.max(low.spread, high.spread) ? [low.mean, high.mean] : null
}

/** Cheap enough for every reading: a range of more than the least gap, a hole in it, its middle crossed to and fro. */
function jumpsAbout(samples: readonly Raw[], delta: number): boolean {
  const from = Math.max(0, samples.length - MOST)
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  for (let index = from; index < samples.length; index++) {
    const raw = samples[index]?.value ?? low
    if (raw < low) low = raw
    if (raw > high) high = raw
  }
  if (high - low <= GAP_DELTAS * delta) return false
  if (!hasHole(samples, from, { low, high, gap: GAP_DELTAS * delta })) return false
  const middle = (low + high) / 2
  let crossings = 0
  let wasAbove = (samples[from]?.value ?? middle) > middle
  for (let index = from + 1; index < samples.length; index++) {
    const above = (samples[index]?.value ?? middle) > middle
    if (above !== wasAbove) crossings += 1
    wasAbove = above
  }
  return crossings >= CROSSINGS
}

/** A gap leaves at least one of the boxes of half its width empty; where there are too many boxes to say so at once, there may be one. */
function hasHole(
  samples: readonly Raw[],
  from: number,
  { low, high, gap }: { readonly low: number; readonly high: number; readonly gap: number },
): boolean {
  const boxes = Math.floor((2 * (high - low)) / gap) + 1
  if (boxes > MOST_BOXES) return true
  let filled = 0
  for (let index = from; index < samples.length; index++)
    filled |= 1 << Math.floor((2 * ((samples[index]?.value ?? low) - low)) / gap)
  return filled !== 2 ** boxes - 1
}

const gapBefore = (sorted: Float64Array, index: number) => (sorted[index] ?? 0) - (sorted[index - 1] ?? 0)

function heap(values: Float64Array): { readonly mean: number; readonly spread: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0)
  return { mean, spread: Math.sqrt(squares / values.length) }
}
