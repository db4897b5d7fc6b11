import type { Quantity } from '../../quantity/quantity.ts'

/** What one adjuster does to one quantity, as seen while a hand turned it. */
export interface Effect {
  /** Usual change for each second of turning, in the unit of the quantity, above 0. */
  readonly perS: number
  /** 1: clockwise, seen from the tool's end, raises the reading; -1: lowers it; null: not known, or it does both (endless trimmers). */
  readonly clockwise: 1 | -1 | null
  /** Moves it was learned from. */
  readonly moves: number
}

/** Effects by adjuster and quantity; of this job, or handed in from earlier jobs on the same type. */
export type Effects = ReadonlyMap<string, Effect>

/** One of them as it is written down: "VK DC voltage". */
export type KnownEffect = Effect & { readonly name: string }

/** For writing down. */
export function knownEffects(effects: Effects): readonly KnownEffect[] {
  return [...effects].map(([name, effect]) => ({ name, ...effect }))
}

/** As it was written down. */
export function effectsFrom(known: readonly KnownEffect[]): Effects {
  return new Map(known.map(({ name, ...effect }) => [name, effect]))
}

/** One move that was seen: its change (signed), how long it took, s, and which way the hand had been told to turn. */
export interface SeenMove {
  readonly change: number
  readonly seconds: number
  readonly told: 1 | -1
}

/** The name under which an effect is kept. */
export function effectName(adjuster: string, quantity: Quantity): string {
  return `${adjuster} ${quantity}`
}

/** Nothing is known. */
export const NO_EFFECTS: Effects = new Map()

/** A move shorter than this, s, is over between two readings: it tells the direction, but not how much a second of turning does. */
const LONG_S = 0.8
/** Newer moves count for at least this share of the usual effect. */
const NEWEST_SHARE = 0.25

/** The effect after the moves of one step; `turnsOver`: its sign was seen to flip, so no direction can be promised. */
export function learn(before: Effect | null, moves: readonly SeenMove[], turnsOver: boolean): Effect | null {
  let known = before
  for (const { change, seconds, told } of moves) {
    const seenPerS = Math.abs(change) / seconds
    if (!(seenPerS > 0) || !Number.isFinite(seenPerS)) continue
    const way: 1 | -1 = change > 0 === told > 0 ? 1 : -1
    const agrees = !turnsOver && (known === null || known.clockwise === way)
    known = { perS: usualOf(known, seenPerS, seconds), clockwise: agrees ? way : null, moves: (known?.moves ?? 0) + 1 }
  }
  return known
}

/** Means are taken of logarithms: one hand is three times quicker than another, not three more. */
function usualOf(known: Effect | null, seenPerS: number, seconds: number): number {
  if (!known) return seenPerS
  const share = seconds < LONG_S ? 0 : Math.max(NEWEST_SHARE, 1 / (known.moves + 1))
  return known.perS * (seenPerS / known.perS) ** share
}

/** Memory with one more step learned. */
export function remember(effects: Effects, name: string, moves: readonly SeenMove[], turnsOver: boolean): Effects {
  const effect = learn(effects.get(name) ?? null, moves, turnsOver)
  return effect && moves.length > 0 ? new Map([...effects, [name, effect]]) : effects
}

/** Less than this share of the usual effect is hardly any. */
const HARDLY = 1 / 5

/** Whether the moves seen, taken together, do hardly anything beside what is usual for this adjuster. */
export function hardlyAny(usual: Effect | null, moves: readonly SeenMove[]): boolean {
  if (!usual || usual.moves < LEAST_USUAL) return false
  const long = moves.filter((move) => move.seconds >= LONG_S)
  const seconds = long.reduce((sum, move) => sum + move.seconds, 0)
  const travel = long.reduce((sum, move) => sum + Math.abs(move.change), 0)
  return seconds >= LEAST_S && travel / seconds < HARDLY * usual.perS
}

const LEAST_USUAL = 2
const LEAST_S = 2
