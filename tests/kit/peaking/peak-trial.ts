import type { KeyBudget } from '../../../src/core/job/state/key-down.ts'
import { seededRng } from '../../../src/system/rng.ts'
import { type NudgeJob, nudgeTwoSlugs } from './nudge-hand.ts'
import { HAND_WORLD, type HandWorld, type PeakJob } from './peak-body.ts'
import { peakTwoSlugs } from './peak-hand.ts'
import { peakByEye } from './reference-hand.ts'

/** Slugs are found up to this far from their best places, turns. */
const FAR_TURNS = 0.8

function starts(count: number, seed: number): { rng: () => number; from: [number, number] }[] {
  const rng = seededRng(seed)
  const anywhere = () => (rng() * 2 - 1) * FAR_TURNS
  return Array.from({ length: count }, (_, index) => ({
    rng: seededRng(seed * 100_003 + index),
    from: [anywhere(), anywhere()],
  }))
}

/** Jobs by the hand that follows the guide and turns. */
export function guidedJobs(count: number, seed: number, changes: Partial<HandWorld> = {}): PeakJob[] {
  return starts(count, seed).map(({ from, rng }) => peakTwoSlugs(from, { ...HAND_WORLD, ...changes }, rng))
}

/** The same jobs by the hand that watches the meter itself. */
export function jobsByEye(count: number, seed: number, changes: Partial<HandWorld> = {}): PeakJob[] {
  return starts(count, seed).map(({ from, rng }) => peakByEye(from, { ...HAND_WORLD, ...changes }, rng))
}

/** Jobs by the hand that nudges and waits. */
export function nudgedJobs(
  count: number,
  seed: number,
  changes: Partial<HandWorld> = {},
  budget: KeyBudget | null = null,
): NudgeJob[] {
  return starts(count, seed).map(({ from, rng }) => nudgeTwoSlugs(from, { ...HAND_WORLD, ...changes }, rng, budget))
}

/** Share of the jobs that ended, and no farther than `lossDb` from the best place. */
export function shareWithin(done: readonly PeakJob[], lossDb: number): number {
  return done.filter((job) => job.finished && job.lossDb <= lossDb).length / done.length
}

export function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length
}

export function medianOf(values: readonly number[]): number {
  return values.toSorted((a, b) => a - b)[values.length >> 1] ?? Number.NaN
}
