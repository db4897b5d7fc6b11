import type { Clock } from '../system/clock.ts'

/**
 * Settles as `work` does, or rejects with the reason of whichever signal is aborted first; the work itself is not stopped. Listeners
 * are taken off again, so a signal that lives as long as the program collects nothing.
 */
export async function unless<T>(work: Promise<T>, signals: readonly AbortSignal[]): Promise<T> {
  const offs: (() => void)[] = []
  const stopped = new Promise<never>((_, reject) => {
    for (const signal of signals) {
      const stop = () => reject(signal.reason)
      if (signal.aborted) stop()
      else signal.addEventListener('abort', stop)
      offs.push(() => signal.removeEventListener('abort', stop))
    }
  })
  try {
    return await Promise.race([work, stopped])
  } finally {
    for (const off of offs) off()
  }
}

/** Sleeps until `dueMs` on the clock; rejects with the reason of whichever signal is aborted first, and then nothing sleeps on. */
export async function sleepUnless(clock: Clock, dueMs: number, signals: readonly AbortSignal[]): Promise<void> {
  const over = new AbortController()
  try {
    await unless(clock.sleepUntil(dueMs, over.signal), signals)
  } finally {
    over.abort(OVER)
  }
}

const OVER = new Error('nobody waits for it any more')

/**
 * Lets whatever is due by now happen first, the bytes that the computer already holds among it, before somebody is called silent.
 * A real timer, however short, comes after the sockets were looked at; a clock that stands still wakes those in order who are due now.
 */
export function letArrive(clock: Clock, signals: readonly AbortSignal[]): Promise<void> {
  return sleepUnless(clock, clock.nowMs(), signals)
}
