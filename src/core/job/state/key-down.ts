/** How long the transmitter may be keyed: this long at most, and the rest after a whole such key-down, seconds. */
export interface KeyBudget {
  readonly atMostS: number
  readonly restS: number
}

/**
 * The key-down clock. `used` is the share of a whole key-down in hand: it fills while keyed and empties while resting,
 * so that after a full key-down the whole rest is due and after a short one a proportional part of it.
 */
export interface KeyClock {
  readonly keyed: boolean
  /** Bench clock of the last change of `keyed`, ms. */
  readonly sinceMs: number
  readonly atMs: number
  readonly used: number
  /** A rest was called for and is not over. */
  readonly resting: boolean
  /** Seconds keyed in this job so far. */
  readonly totalS: number
}

export function startKeyClock(atMs: number): KeyClock {
  return { keyed: false, sinceMs: atMs, atMs, used: 0, resting: false, totalS: 0 }
}

/** The clock carried forward to `atMs` with the key as it was seen. */
export function runKeyClock(before: KeyClock, atMs: number, keyed: boolean, budget: KeyBudget): KeyClock {
  const passedS = Math.max(0, atMs - before.atMs) / 1000
  const used = before.keyed ? before.used + passedS / budget.atMostS : Math.max(0, before.used - passedS / budget.restS)
  const released = before.keyed && !keyed
  return {
    keyed,
    sinceMs: keyed === before.keyed ? before.sinceMs : atMs,
    atMs,
    used,
    resting: released ? used >= REST_FROM_SHARE : before.resting && !keyed && used > 0,
    totalS: before.totalS + (before.keyed ? passedS : 0),
  }
}

/** From this share on, a release is followed by the whole rest before the next "key now". */
const REST_FROM_SHARE = 0.7

/** Seconds of rest still due; 0 when none was called for. */
export function restLeftS(clock: KeyClock, budget: KeyBudget): number {
  return clock.resting ? clock.used * budget.restS : 0
}

/** Seconds since the key went down, 0 when it is up. */
export function keyedS(clock: KeyClock): number {
  return clock.keyed ? (clock.atMs - clock.sinceMs) / 1000 : 0
}
