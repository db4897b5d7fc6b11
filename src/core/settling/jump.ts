import type { Timed } from './spikes.ts'
import { type Line, linesThrough, type Noise } from './straight-line.ts'

/** The readings on either side of a jump are compared by so many. */
const SIDE = 3
/** A jump is more than so many deltas, and than so many sigmas of one reading. */
const DELTAS = 1
const SIGMAS = 3.3
const SIDES_S = [2, 2.5, 3, 3.5, 4, 5, 6, 7]
/** A line before the jump counts while its residuals have no more than so many variances of those in the window. */
const STRAIGHT = 2
/** Slopes on either side are alike within so many standard errors; together they keep clear of delta by so many. */
const ALIKE_ERRORS = 2.5
const CLEAR_ERRORS = 1

interface Scale {
  readonly delta: number
  readonly noise: Noise
}

/**
 * Index of the first reading after the newest jump (the tool taken out of a core, the field of a key-down on the lead); 0 without
 * one. No line may reach across it: one up and a slope down look like rest.
 */
export function jumpIn(samples: readonly Timed[], { delta, noise }: Scale): number {
  let most = SIDE * delta * Math.max(DELTAS, SIGMAS * Math.max(noise.sigma, roughness(samples) / delta))
  let jump = 0
  // the newest place where the two sides differ enough is seldom the one where they differ most
  for (let index = samples.length - SIDE; index >= SIDE && (jump === 0 || index > jump - SIDE); index--) {
    const by = Math.abs(sumFrom(samples, index) - sumFrom(samples, index - SIDE))
    if (by <= most) continue
    most = by
    jump = index
  }
  return jump
}

/** Sigma of one reading from neighbouring ones, in the unit of the readings; for where the driver does not say, or says too little. */
function roughness(samples: readonly Timed[]): number {
  let squares = 0
  for (let index = 1; index < samples.length; index++)
    squares += ((samples[index]?.value ?? 0) - (samples[index - 1]?.value ?? 0)) ** 2
  return Math.sqrt(squares / 2 / (samples.length - 1))
}

function sumFrom(samples: readonly Timed[], from: number): number {
  let sum = 0
  for (let index = from; index < from + SIDE; index++) sum += samples[index]?.value ?? 0
  return sum
}

/**
 * Whether the readings before a jump and those after it follow lines of one slope that carries them more than delta in `aheadS`: a
 * core that goes on creeping when the tool is out. `line`: the window in question, after the jump.
 */
export function goesOnAfter(
  jump: number,
  samples: readonly Timed[],
  line: Line,
  { scale, everyS, aheadS }: { readonly scale: Scale; readonly everyS: number; readonly aheadS: number },
): boolean {
  // the readings next to the jump may be part of it
  const [before, after] = [samples.slice(0, jump - 1), samples.slice(jump + 1)].map((side) =>
    linesThrough(side, SIDES_S, scale, everyS).at(-1),
  )
  if (!before || !after || before.variance > STRAIGHT * line.sigma * line.sigma) return false
  if (Math.abs(before.slope - after.slope) > ALIKE_ERRORS * Math.hypot(before.seSlope, after.seSlope)) return false
  const weights = [before.seSlope ** -2, after.seSlope ** -2] as const
  const weight = weights[0] + weights[1]
  const slope = (weights[0] * before.slope + weights[1] * after.slope) / weight
  return (Math.abs(slope) + CLEAR_ERRORS / Math.sqrt(weight)) * aheadS > 1
}
