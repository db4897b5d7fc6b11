import type { Clock } from '../system/clock.ts'

/**
 * One deadline at a time on the bench clock, moved as often as wanted. A clock's sleeper costs ten times what a whole exchange may
 * add, so there is at most one: it is left to wake where the old deadline stood, finds the newer one, and sleeps on or ends.
 */
export class Alarm {
  readonly #clock: Clock
  readonly #ring: () => void
  #dueMs = Number.POSITIVE_INFINITY
  #sleeper: { readonly dueMs: number; readonly stop: AbortController } | null = null

  constructor(clock: Clock, ring: () => void) {
    this.#clock = clock
    this.#ring = ring
  }

  /** Rings once when the clock has reached `dueMs`, unless set anew or cleared before. */
  set(dueMs: number): void {
    this.#dueMs = dueMs
    if (this.#sleeper !== null && this.#sleeper.dueMs <= dueMs) return
    this.stop()
    this.#dueMs = dueMs
    this.#sleep(dueMs)
  }

  /** No ring any more. A sleeper may stay until its time and then ends; `stop` ends it too. */
  clear(): void {
    this.#dueMs = Number.POSITIVE_INFINITY
  }

  /** No ring any more, and nothing sleeps on the clock. */
  stop(): void {
    this.clear()
    this.#sleeper?.stop.abort(STOPPED)
    this.#sleeper = null
  }

  #sleep(dueMs: number): void {
    const sleeper = { dueMs, stop: new AbortController() }
    this.#sleeper = sleeper
    this.#clock.sleepUntil(dueMs, sleeper.stop.signal).then(
      () => {
        if (this.#sleeper !== sleeper) return
        this.#sleeper = null
        if (this.#dueMs === Number.POSITIVE_INFINITY) return
        if (this.#dueMs > dueMs) return this.#sleep(this.#dueMs)
        this.clear()
        this.#ring()
      },
      () => {}, // stopped: nobody waits for it
    )
  }
}

/** Made once: a reason made at each stop would cost a stack trace. */
const STOPPED = new Error('no deadline any more')
