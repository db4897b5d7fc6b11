import type { Rng } from '../../src/system/rng.ts'
import { type Adjuster, TRAVEL } from '../plant/adjusters.ts'
import { finestStep, type Tool } from './tool.ts'

/** Bringing a meter that only a person can see to a value: turn, wait, read, and learn what a turn does. */
export interface DisplaySet {
  /** One look at a display that has stood still, with the tool at rest, SI. */
  look(adjuster: Adjuster, value: number, near: { readonly aim: number; readonly half: number }): void
  /** Something else was done since: the last turn and what is seen now no longer belong together. */
  afresh(): void
}

/** Fingers that know no adjuster yet. */
export function createDisplaySet(tool: Tool, rng: Rng, moveError: number): DisplaySet {
  /** Change of the value per unit of the adjuster. */
  const effects = new Map<Adjuster, number>()
  /** Signed length of the next turn of an adjuster that has shown no effect yet. */
  const probes = new Map<Adjuster, number>()
  let last: { readonly adjuster: Adjuster; readonly by: number; readonly value: number } | null = null

  const learn = (adjuster: Adjuster, value: number, half: number) => {
    if (last?.adjuster !== adjuster) return
    const change = value - last.value
    if (Math.abs(change) >= half) effects.set(adjuster, change / last.by)
    else if (!effects.has(adjuster)) probes.set(adjuster, tool.atStop(adjuster) === 0 ? 2 * last.by : -last.by)
  }

  return {
    afresh: () => {
      last = null
    },
    look: (adjuster, value, { aim, half }) => {
      learn(adjuster, value, half)
      const { kind } = TRAVEL[adjuster]
      const effect = effects.get(adjuster)
      const missing = aim - value
      const probe = probes.get(adjuster) ?? Math.sign(missing) * FIRST_MOVE[kind]
      const wanted = effect === undefined ? probe : (missing / effect) * (1 + moveError * (2 * rng() - 1))
      const size = Math.min(Math.max(Math.abs(wanted), finestStep(adjuster)), MOST[kind])
      const by = Math.sign(wanted) * size
      last = { adjuster, by, value }
      tool.turn(adjuster, by)
    },
  }
}

/** First turn of an adjuster whose effect is not known, and the largest at a time, in its own unit. */
const FIRST_MOVE = { coil: 0.1, preset: 15 / 270, endless: 8 / 360 } as const
const MOST = { coil: 0.5, preset: 60 / 270, endless: 45 / 360 } as const
