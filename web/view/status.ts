/** What a screen reader was told last. */
export interface Spoken {
  readonly said: string
  readonly saidAtMs: number
}

const APART_MS = 3_000

/** So long a message stands at least, so that a reader has taken it up before it goes. */
const STANDS_MS = 1_000

/**
 * At most one message in three seconds, and none again while it still holds. `said` is what the status region holds: what holds no
 * more is gone from it after a second, so that nobody finds "release" there after the release; an emptied region is not read out.
 */
export function speak(before: Spoken, wanted: string, nowMs: number): Spoken {
  const sinceMs = nowMs - before.saidAtMs
  if (wanted === before.said || (before.said !== '' && sinceMs < STANDS_MS)) return before
  const now = sinceMs < APART_MS ? '' : wanted
  if (now === before.said) return before
  return { said: now, saidAtMs: now === '' ? before.saidAtMs : nowMs }
}
