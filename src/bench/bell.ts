import type { Clock } from '../system/clock.ts'
import { untilAborted } from '../system/deadline.ts'

const RUNG = new Error('rung') // the reason of a sleep that was cut short; never leaves this file

/** Cuts one sleeper's sleep short. For a task that waits for a time or for news, whichever comes first. */
export class Bell {
  #ring: (() => void) | null = null

  ring(): void {
    this.#ring?.()
  }

  /** Resolves when the clock has reached `dueMs` (null: never) or when the bell is rung. Rejects with `signal.reason` when aborted. */
  async waitUntil(dueMs: number | null, clock: Clock, signal: AbortSignal): Promise<void> {
    signal.throwIfAborted()
    const stop = new AbortController()
    const onAbort = () => stop.abort(signal.reason)
    signal.addEventListener('abort', onAbort, { once: true })
    this.#ring = () => stop.abort(RUNG)
    try {
      if (dueMs !== null) await clock.sleepUntil(dueMs, stop.signal)
      else {
        await untilAborted(stop.signal)
        stop.signal.throwIfAborted()
      }
    } catch (reason) {
      if (reason !== RUNG) throw reason
    } finally {
      this.#ring = null
      signal.removeEventListener('abort', onAbort)
    }
  }
}
