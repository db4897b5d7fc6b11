/** Chance as an argument: each call gives the next number in [0, 1). */
export type Rng = () => number

/** A seeded generator (mulberry32, public domain): the same seed gives the same run. Not for secrets. */
export function seededRng(seed: number): Rng {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = state
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296
  }
}

/** A standard normal number (mean 0, sigma 1) by Box and Muller's method. */
export function normal(rng: Rng): number {
  const radius = Math.sqrt(-2 * Math.log(1 - rng()))
  return radius * Math.cos(2 * Math.PI * rng())
}
