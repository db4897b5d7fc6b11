/** Share of a normal distribution within two standard deviations: the 95.45 % of GUM 6.3.3 and its table G.2, unrounded so that k is 2. */
export const TWO_SIGMA = 0.9544997361036416

const ROOT_2PI = Math.sqrt(2 * Math.PI)
/** Beyond this the series loses digits that the continued fraction keeps. */
const SERIES_UP_TO = 2.5
const FRACTION_TERMS = 80
/** Above this the distribution is the normal one to within 1e-9 after the change of variable of A&S 26.7.8. */
const EXACT_FREEDOM = 10_000
/** Above this the quantile's expansion in 1/freedom (A&S 26.7.5) is good to 1e-9 up to 99.73 %. */
const NEWTON_FREEDOM = 200
/** So many degrees of freedom are as good as endless. */
export const ENDLESS = 1e6

/** Share of the standard normal distribution above z, 0 to 1; the far tail keeps its digits. */
export function normalAbove(z: number): number {
  if (Number.isNaN(z)) return Number.NaN
  if (z < 0) return 1 - normalAbove(-z)
  if (z > 39) return 0
  const density = Math.exp(-0.5 * z * z) / ROOT_2PI
  return z < SERIES_UP_TO ? 0.5 - density * series(z) : density / fraction(z)
}

/** Share of the standard normal distribution below z, 0 to 1. */
export function normalBelow(z: number): number {
  return normalAbove(-z)
}

/** z + z^3/3 + z^5/(3 5) + ...: the distribution over its density (A&S 26.2.11). */
function series(z: number): number {
  let term = z
  let sum = z
  for (let odd = 3; term > 1e-17 * sum; odd += 2) {
    term *= (z * z) / odd
    sum += term
  }
  return sum
}

/** z + 1/(z + 2/(z + 3/(z + ...))): the density over the tail (A&S 26.2.14), from its far end. */
function fraction(z: number): number {
  let value = z
  for (let n = FRACTION_TERMS; n >= 1; n--) value = z + n / value
  return value
}

/** Share of Student's t distribution between -t and t for a whole number of degrees of freedom, 1 or more, or Infinity; t at least 0. */
export function studentWithin(t: number, freedom: number): number {
  if (freedom >= ENDLESS) return 1 - 2 * normalAbove(t)
  if (freedom > EXACT_FREEDOM)
    return 1 - 2 * normalAbove((t * (1 - 1 / (4 * freedom))) / Math.sqrt(1 + (t * t) / (2 * freedom)))
  const sine = t / Math.sqrt(freedom + t * t)
  const cosine2 = freedom / (freedom + t * t)
  // A&S 26.7.3 for an odd number, 26.7.4 for an even one
  const odd = freedom % 2 === 1
  let term = odd ? Math.sqrt(cosine2) : 1
  let sum = freedom === 1 ? 0 : term
  for (let n = odd ? 3 : 2; n < freedom && term > 1e-17 * sum; n += 2) {
    term *= ((n - 1) / n) * cosine2
    sum += term
  }
  return Math.min(1, odd ? (2 / Math.PI) * (Math.atan(t / Math.sqrt(freedom)) + sine * sum) : sine * sum)
}

/** Share of Student's t distribution below t, 0 to 1, for a whole number of degrees of freedom, 1 or more, or Infinity. */
export function studentBelow(t: number, freedom: number): number {
  if (freedom >= ENDLESS) return normalBelow(t)
  const half = studentWithin(Math.abs(t), freedom) / 2
  return t < 0 ? 0.5 - half : 0.5 + half
}

/** The coverage factor k: `level` of Student's t distribution lies within -k and k (GUM G.3.2). Freedom: a whole number, 1 or more, or Infinity. */
export function coverageFactor(freedom: number, level = TWO_SIGMA): number {
  const z = normalWithin(level)
  if (freedom >= ENDLESS) return z
  if (freedom === 1) return Math.tan((Math.PI / 2) * level)
  if (freedom === 2) return level * Math.sqrt(2 / (1 - level * level))
  const start = expansion(z, freedom)
  return freedom > NEWTON_FREEDOM ? start : refine(start, z, freedom, level)
}

/** z with `level` of the normal distribution within -z and z. */
function normalWithin(level: number): number {
  if (level === TWO_SIGMA) return 2
  if (!(level > 0 && level < 1)) throw new TypeError(`a level of ${level} is not between 0 and 1`)
  let z = 0
  // the share is concave, so each step from below stays below
  for (let step = 1; step > 1e-15 * z; ) {
    step = (level - 1 + 2 * normalAbove(z)) / ((2 * Math.exp(-0.5 * z * z)) / ROOT_2PI)
    z += step
  }
  return z
}

/** Student's quantile from the normal one in powers of 1/freedom (A&S 26.7.5). */
function expansion(z: number, freedom: number): number {
  const z2 = z * z
  const g1 = (z * (z2 + 1)) / 4
  const g2 = (z * ((5 * z2 + 16) * z2 + 3)) / 96
  const g3 = (z * (((3 * z2 + 19) * z2 + 17) * z2 - 15)) / 384
  const g4 = (z * ((((79 * z2 + 776) * z2 + 1482) * z2 - 1920) * z2 - 945)) / 92160
  return z + (g1 + (g2 + (g3 + g4 / freedom) / freedom) / freedom) / freedom
}

const MOST_STEPS = 60

/** Newton's steps; a first one that leaps below the normal quantile, where no answer lies, begins again from there. */
function refine(start: number, z: number, freedom: number, level: number): number {
  const scale = densityAtZero(freedom)
  let t = start
  for (let count = 0; count < MOST_STEPS; count++) {
    const density = scale * (1 + (t * t) / freedom) ** (-(freedom + 1) / 2)
    const step = (level - studentWithin(t, freedom)) / (2 * density)
    t = Math.max(z, t + step)
    if (Math.abs(step) <= 1e-14 * t) break
  }
  return t
}

/** Height of Student's density at 0: a ratio of gamma functions of halves, as a product. */
function densityAtZero(freedom: number): number {
  let height = freedom % 2 === 1 ? 1 / Math.PI : 1 / (2 * Math.SQRT2)
  for (let n = freedom % 2 === 1 ? 1 : 2; n < freedom; n += 2) height *= ((n + 1) / n) * Math.sqrt(n / (n + 2))
  return height
}
