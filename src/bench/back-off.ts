import type { Rng } from '../system/rng.ts'

const STEPS_MS = [500, 1000, 2000, 5000, 10_000] as const
const SPREAD = 0.2

/** How long to wait before try number `tries` (0: the first again) at an instrument that went away, ms: 0.5 to 10 s, 20 % either way. */
export function backOffMs(tries: number, rng: Rng): number {
  const step = STEPS_MS[Math.min(tries, STEPS_MS.length - 1)] ?? 10_000
  return step * (1 - SPREAD + 2 * SPREAD * rng())
}
