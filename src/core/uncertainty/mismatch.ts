/** What a set and its load can make of a power between them. */
export interface Mismatch {
  /** Share of the power, at most above and at most below: (1 + G G)^2 - 1 and (1 - G G)^2 - 1. */
  readonly above: number
  readonly below: number
  /** The same in dB. */
  readonly aboveDb: number
  readonly belowDb: number
  /** Half width of the U-shaped part, a share of the power: 2 G G, so that the standard uncertainty is root 2 times G G. */
  readonly halfWidth: number
}

/** Size of the reflection, 0 to 1, at a standing wave ratio of 1 or more. */
export function reflectionOf(vswr: number): number {
  if (!(vswr >= 1)) throw new TypeError(`a standing wave ratio of ${vswr} is below 1`)
  return (vswr - 1) / (vswr + 1)
}

/** Limits of the mismatch between two standing wave ratios whose phases nobody knows; U-shaped (Harris and Warner, IEE Proc. H 128, 1981). */
export function mismatchOf(setVswr: number, meterVswr: number): Mismatch {
  const both = reflectionOf(setVswr) * reflectionOf(meterVswr)
  return {
    above: (1 + both) ** 2 - 1,
    below: (1 - both) ** 2 - 1,
    aboveDb: 20 * Math.log10(1 + both),
    belowDb: 20 * Math.log10(1 - both),
    halfWidth: 2 * both,
  }
}
