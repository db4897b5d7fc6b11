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
  /** How many adjusters in a row have found next to nothing. */
  readonly idle: number
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
  return { adjusters, rule, next, round: 1, gainDb: null, done: false, stillGaining: false, levelDb: startDb, idle: 0 }
}

/**
 * One adjuster is at its best, at `bestDb` absolute: on to the next, to a new round, or done. `gainedDb` is what this adjuster
 * alone has gained: when all the others have found less than the rule's gain since it was last turned, it has nothing to come
 * back for, and the round need not be finished.
 */
export function adjusterDone(before: Rounds, bestDb: number, gainedDb: number | null = null): Rounds {
  if (before.next === null) return before
  const idle = gainedDb !== null && gainedDb < before.rule.gainDb ? before.idle + 1 : 0
  const following = before.adjusters[before.adjusters.indexOf(before.next) + 1]
  const others = before.adjusters.length - 1
  // after one round alone a top that was missed would never be looked for again
  if (others > 0 && before.round > 1 && idle >= others)
    return { ...before, idle, gainDb: gainedDb, levelDb: bestDb, next: null, done: true }
  if (following !== undefined) return { ...before, idle, next: following }
  const gainDb = before.levelDb === null ? null : bestDb - before.levelDb
  const gaining = gainDb === null || gainDb >= before.rule.gainDb
  // an adjuster alone moves nobody else's best place: it has nothing to come back for
  const goesOn = gaining && others > 0 && before.round < before.rule.most
  const whole = { ...before, idle, gainDb, levelDb: bestDb }
  if (goesOn) return { ...whole, next: before.adjusters[0] ?? null, round: before.round + 1 }
  return { ...whole, next: null, done: true, stillGaining: gaining && others > 0 }
}
