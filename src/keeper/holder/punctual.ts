import type { Clock } from '../../system/clock.ts'

const STALLED_MS = 50
const READ_MS = 25

/** Sleeps until it is time; a program that stood still first gets a moment to read what has come meanwhile. */
export async function punctual(clock: Clock, dueMs: number, signal: AbortSignal): Promise<void> {
  await clock.sleepUntil(dueMs, signal)
  const nowMs = clock.nowMs()
  if (nowMs - dueMs > STALLED_MS) await clock.sleepUntil(nowMs + READ_MS, signal)
}
