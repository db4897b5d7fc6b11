/** One reading as it came, and as it is used. */
export interface Sample {
  readonly atS: number
  readonly raw: number
  /** The reading itself, or the median that stands in for a spike. */
  readonly value: number
  readonly replaced: boolean
}

const HALF = 2
const SPAN = 2 * HALF + 1
/** A spike lies farther from the median of five than this many robust sigmas, and than this many deltas. */
const SIGMAS = 3.5
const DELTAS = 2.5
/** Standard deviation of a normal distribution over its median absolute deviation. */
const MAD_TO_SIGMA = 1.4826

/**
 * Looks again at the samples whose five neighbours have changed by the newest one: a lone spike is replaced by the median of
 * the five around it, a step of several readings is left alone. `sigma` and `delta` in the unit of the readings.
 */
export function withoutSpikes(samples: readonly Sample[], sigma: number, delta: number): readonly Sample[] {
  if (samples.length < SPAN || !hasOutlier(samples, DELTAS * delta)) return samples
  const cleaned = [...samples]
  const first = samples.length === SPAN ? 0 : samples.length - 1 - HALF
  for (let index = first; index < samples.length; index++) {
    const sample = samples[index]
    if (!sample) continue
    const from = Math.max(0, Math.min(index - HALF, samples.length - SPAN))
    cleaned[index] = judgeSample(sample, samples.slice(from, from + SPAN), sigma, delta)
  }
  return cleaned
}

/** Whether anything near the newest reading was replaced or lies so far off that it may be. */
function hasOutlier(samples: readonly Sample[], away: number): boolean {
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  for (let index = Math.max(0, samples.length - SPAN - HALF); index < samples.length; index++) {
    const sample = samples[index]
    if (!sample) break
    if (sample.replaced) return true
    if (sample.raw < low) low = sample.raw
    if (sample.raw > high) high = sample.raw
  }
  return high - low > away
}

function judgeSample(sample: Sample, around: readonly Sample[], sigma: number, delta: number): Sample {
  const raws = around.map((one) => one.raw)
  const middle = median(raws)
  const away = Math.abs(sample.raw - middle)
  if (away > DELTAS * delta) {
    const robust = MAD_TO_SIGMA * median(raws.map((raw) => Math.abs(raw - middle)))
    if (away > SIGMAS * Math.max(robust, sigma)) return { ...sample, value: middle, replaced: true }
  }
  return sample.replaced ? { ...sample, value: sample.raw, replaced: false } : sample
}

/** The middle one; of an even number the lower of the two middle ones. NaN for none. */
export function median(values: readonly number[]): number {
  if (values.length === 0) return Number.NaN
  const at = (values.length - 1) >> 1
  return atRank(new Float64Array(values), at)
}

/** The value that would stand at `rank` if they were sorted; moves them about. Hoare's selection: a sort does more than is asked. */
function atRank(values: Float64Array, rank: number): number {
  let from = 0
  let to = values.length - 1
  while (from < to) {
    const pivot = values[rank] ?? Number.NaN
    let low = from
    let high = to
    while (low <= high) {
      while ((values[low] ?? pivot) < pivot) low++
      while ((values[high] ?? pivot) > pivot) high--
      if (low > high) break
      const held = values[low] ?? pivot
      values[low++] = values[high] ?? pivot
      values[high--] = held
    }
    if (high < rank) from = low
    if (low > rank) to = high
  }
  return values[rank] ?? Number.NaN
}
