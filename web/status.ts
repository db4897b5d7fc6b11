/** What a screen reader was told last. */
export interface Spoken {
  readonly said: string
  readonly saidAtMs: number
}

const APART_MS = 3_000

/** At most one message in three seconds, and none again while it still holds. `said` is what the status region holds. */
export function speak(before: Spoken, wanted: string, nowMs: number): Spoken {
  if (wanted === before.said || nowMs - before.saidAtMs < APART_MS) return before
  return { said: wanted, saidAtMs: wanted === '' ? before.saidAtMs : nowMs }
}
