/** When to stop going round interacting adjusters. */
export interface RoundRule {
  /** A whole round that gains less than this, dB, is the last. */
  readonly gainDb: number
  /** Never more rounds than this. */
  readonly most: number
}

/** Where the work stands: which adjuster is next, in which round, and what the last whole round gained. */
export interface Rounds {
  readonly adjusters: readonly string[]
  readonly rule: RoundRule
  /** null when done. */
  readonly next: string | null
  /** From 1. */
  readonly round: number
  /** Gain of the last whole round, dB; null before one can be known. */
  readonly gainDb: number | null
  readonly done: boolean
  /** The last round allowed still gained: loose core, slow meter, or an adjuster that is not turned. */
  readonly stillGaining: boolean
  /** Level at the end of the last whole round, dB; null where none is known. */
  readonly levelDb: number | null
}

export const ROUND_RULE: RoundRule = { gainDb: 0.05, most: 4 }

/**
 * Begins the rounds; `adjusters` in the order of the signal, the one nearer the input first. With `startDb`, the level before
 * anything was turned, the first round has a gain too. Throws TypeError for no adjuster.
 */
export function startRounds(
  adjusters: readonly string[],
  rule: RoundRule = ROUND_RULE,
  startDb: number | null = null,
): Rounds {
  const next = adjusters[0]
  if (next === undefined) throw new TypeError('rounds need an adjuster')
  return { adjusters, rule, next, round: 1, gainDb: null, done: false, stillGaining: false, levelDb: startDb }
}

/** One adjuster is at its best, at `bestDb` absolute: on to the next, to a new round, or done. */
export function adjusterDone(before: Rounds, bestDb: number): Rounds {
  if (before.next === null) return before
  const following = before.adjusters[before.adjusters.indexOf(before.next) + 1]
  if (following !== undefined) return { ...before, next: following }
  const gainDb = before.levelDb === null ? null : bestDb - before.levelDb
  const gaining = gainDb === null || gainDb >= before.rule.gainDb
  // an adjuster alone moves nobody else's best place: it has nothing to come back for
  const goesOn = gaining && before.adjusters.length > 1 && before.round < before.rule.most
  const whole = { ...before, gainDb, levelDb: bestDb }
  if (goesOn) return { ...whole, next: before.adjusters[0] ?? null, round: before.round + 1 }
  return { ...whole, next: null, done: true, stillGaining: gaining && before.adjusters.length > 1 }
}
