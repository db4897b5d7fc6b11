import type { Rng } from '../../src/system/rng.ts'

/** From the least to the most; each use draws one between. */
export type Span = readonly [least: number, most: number]

/** How good and how quick the simulated hand is (common practice; the figures are ours). */
export interface Skill {
  /** From a change on the gauge to the hand acting on it, ms. */
  readonly reactionMs: Span
  /** Turning a slug, turns/s; the trimmer and presets, degrees/s. */
  readonly slugTurnsPerS: Span
  readonly trimmerDegreesPerS: Span
  readonly presetDegreesPerS: Span
  /** Play of the tool when the direction changes: slugs in turns, trimmer and presets in degrees. */
  readonly slugSlopTurns: Span
  readonly smallSlopDegrees: Span
  /** Reading a step and placing leads, ms, altogether. */
  readonly readStepMs: Span
  /** Taking the tool to another adjuster, ms. */
  readonly changeToolMs: Span
  /** How well an intended move is made, relative. */
  readonly moveError: number
}

/** A practised technician; every figure is our guess. */
export const TECHNICIAN: Skill = {
  reactionMs: [250, 500],
  slugTurnsPerS: [0.06, 0.15],
  trimmerDegreesPerS: [15, 25],
  presetDegreesPerS: [18, 22],
  slugSlopTurns: [0.02, 0.05],
  smallSlopDegrees: [0.5, 2.5],
  readStepMs: [3000, 8000],
  changeToolMs: [800, 1600],
  moveError: 0.08,
}

/** One value of a span. */
export function draw(span: Span, rng: Rng): number {
  return span[0] + (span[1] - span[0]) * rng()
}
