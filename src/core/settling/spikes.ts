import { median } from '../statistics/median.ts'
/** One reading and when it came, s. */
export interface Timed {
  readonly atS: number
  readonly value: number
}

/** One reading as it came. `aside`: a lone spike, with readings after it that say so; it counts for nothing. */
export interface Sample extends Timed {
  readonly aside: boolean
}

const HALF = 2
const SPAN = 2 * HALF + 1
/** A spike lies farther from the median of five than this many robust sigmas, and than this many deltas. */
const SIGMAS = 3.5
const DELTAS = 2.5
/** Standard deviation of a normal distribution over its median absolute deviation. */
const MAD_TO_SIGMA = 1.4826

/** The readings with what the newest one says of those before it, and whether it lies so far off itself that it may be a spike. */
export interface Sifted {
  readonly samples: readonly Sample[]
  readonly inDoubt: boolean
}

/**
 * Looks again at the samples whose five neighbours have changed by the newest one: a lone spike is set aside, a step of several
 * readings is left alone. The newest is never set aside: what comes after it has to say whether it was a spike or a change. `sigma` and
 * `delta` in the unit of the readings.
 */
export function sift(samples: readonly Sample[], sigma: number, delta: number): Sifted {
  if (samples.length < SPAN || !hasOutlier(samples, DELTAS * delta)) return { samples, inDoubt: false }
  const sifted = [...samples]
  const newest = samples.length - 1
  const isOff = (index: number) => {
    const from = Math.max(0, Math.min(index - HALF, samples.length - SPAN))
    return isFarOff(samples[index], samples.slice(from, from + SPAN), sigma, delta)
  }
  for (let index = samples.length === SPAN ? 0 : newest - HALF; index < newest; index++) {
    const sample = samples[index]
    if (sample && sample.aside !== isOff(index)) sifted[index] = { ...sample, aside: !sample.aside }
  }
  return { samples: sifted, inDoubt: isOff(newest) }
}

/** The readings that count. */
export function counting(samples: readonly Sample[]): readonly Sample[] {
  return samples.some(({ aside }) => aside) ? samples.filter(({ aside }) => !aside) : samples
}

/** Whether anything near the newest reading was set aside or lies so far off that it may be. */
function hasOutlier(samples: readonly Sample[], away: number): boolean {
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  for (let index = Math.max(0, samples.length - SPAN - HALF); index < samples.length; index++) {
    const sample = samples[index]
    if (!sample) break
    if (sample.aside) return true
    if (sample.value < low) low = sample.value
    if (sample.value > high) high = sample.value
  }
  return high - low > away
}

function isFarOff(sample: Sample | undefined, around: readonly Sample[], sigma: number, delta: number): boolean {
  if (!sample) return false
  const values = around.map(({ value }) => value)
  const middle = median(values)
  const away = Math.abs(sample.value - middle)
  if (away <= DELTAS * delta) return false
  const robust = MAD_TO_SIGMA * median(values.map((value) => Math.abs(value - middle)))
  return away > SIGMAS * Math.max(robust, sigma)
}
