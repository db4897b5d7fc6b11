import type { WarmSample } from '../../../src/core/warm-up/warm-fit.ts'
import { addWarmSample, startWarmUp, type WarmUp } from '../../../src/core/warm-up/warm-up.ts'
import { normal, type Rng, seededRng } from '../../../src/system/rng.ts'

/** A set that dies away to its end from `awayHz` above or below it. */
export interface WarmSet {
  readonly awayHz: number
  readonly tauS: number
}

/** The carrier that all of them end at, Hz. */
export const ENDS_AT_HZ = 27_205_000
export const NOISE_HZ = 1

/** Sets whose first error is even over -150 to +150 Hz and whose time constant is even over 250 to 650 s. */
export function warmSets(count: number, seed: number): readonly WarmSet[] {
  const rng = seededRng(seed)
  return Array.from({ length: count }, () => ({ awayHz: -150 + 300 * rng(), tauS: 250 + 400 * rng() }))
}

export function hzOf(set: WarmSet, atS: number): number {
  return ENDS_AT_HZ + set.awayHz * Math.exp(-atS / set.tauS)
}

/** A set from its first moment on, a sample each `everyS`. */
export function samplesOf(
  set: WarmSet,
  rng: Rng,
  { everyS, untilS }: { readonly everyS: number; readonly untilS: number },
): readonly WarmSample[] {
  return Array.from({ length: Math.floor(untilS / everyS) + 1 }, (_, index) => ({
    atS: index * everyS,
    hz: hzOf(set, index * everyS) + NOISE_HZ * normal(rng),
  }))
}

/** Watches a set and hands over the state after each sample. */
export function* watchSet(
  set: WarmSet,
  rng: Rng,
  how: { readonly everyS: number; readonly untilS: number; readonly driftHzPerMin?: number },
): Generator<WarmSample & { readonly state: WarmUp }> {
  let state = startWarmUp({ driftHzPerMin: how.driftHzPerMin ?? 5, noiseHz: NOISE_HZ })
  for (const sample of samplesOf(set, rng, how)) {
    state = addWarmSample(state, sample)
    yield { ...sample, state }
  }
}
