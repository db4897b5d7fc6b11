/**
 * Two interacting tuned stages and a final stage with its power loop out of the way, at 15.6 V: the simulated set's equations
 * (COMPUTED), written out once more so that the guide is not tried on the plant it may be tuned to.
 */
const TURN_1 = 2.7
const TURN_2 = 1.8
const COUPLING = 0.49
const DRIVE = 1.4 * ((15.6 - 1.5) / (13.8 - 1.5)) ** 2

/** Output relative to its best, dB, with the slugs `n1` and `n2` turns from their best places. */
export function levelDb(n1: number, n2: number): number {
  const x1 = TURN_1 * n1
  const x2 = TURN_2 * n2
  const top = 1 + COUPLING
  const gain = top ** 2 / ((top - x1 * x2) ** 2 + (x1 + x2) ** 2)
  return 10 * Math.log10((1 - Math.exp(-DRIVE * gain)) / (1 - Math.exp(-DRIVE)))
}

/** Power at the best place, cold, W. */
export const TOP_WATTS = 5.53

/** What heat takes after `keyedS` of carrier, dB: 0.017 after 5 s, 0.05 after 15 s, 0.14 after 60 s. */
export function droopDb(keyedS: number): number {
  return 0.22 * (1 - Math.exp(-keyedS / 60))
}
