import { uptime } from 'node:os'

/** Time as an argument. Everything that waits takes one, so a whole job can run on a clock of its own. */
export interface Clock {
  /** Monotonic milliseconds; only differences mean anything. */
  nowMs(): number
  /** Wall time for records, ISO 8601 with milliseconds, UTC. */
  wallTime(): string
  /** ms on the scale of `nowMs`, of a clock that runs on while the computer sleeps; left out where time is made. */
  bootMs?(): number
  /** Resolves when `nowMs()` has reached `dueMs`; rejects with `signal.reason`, untouched, when aborted. */
  sleepUntil(dueMs: number, signal: AbortSignal): Promise<void>
}

/** Where and how fast a paced clock runs; passed to child processes so that all run on one scale. */
export interface Pace {
  /** Clock seconds per real second; 1 for real work. */
  readonly times: number
  /** Real time (ms since 1970) at which the paced clock read 0. */
  readonly originMs: number
}

/** The real clock (pace 1), or the same clock running `pace.times` faster in every process that shares `pace`. */
export function realClock(pace: Pace = { times: 1, originMs: performance.timeOrigin }): Clock {
  const realMs = () => performance.timeOrigin + performance.now()
  const nowMs = () => (realMs() - pace.originMs) * pace.times
  return {
    nowMs,
    // at work the computer's own clock is asked each time: it may be set, and it goes on while the computer sleeps
    wallTime: () => new Date(pace.times === 1 ? Date.now() : pace.originMs + nowMs()).toISOString(),
    ...(pace.times === 1 ? { bootMs: () => uptime() * 1000 } : {}),
    sleepUntil: (dueMs, signal) =>
      new Promise<void>((resolve, reject) => {
        if (signal.aborted) return reject(signal.reason)
        const onAbort = () => {
          clearTimeout(timer)
          reject(signal.reason)
        }
        const wake = () => {
          const leftMs = dueMs - nowMs()
          if (leftMs > 0.01) {
            timer = setTimeout(wake, Math.min(leftMs / pace.times, MAX_TIMEOUT_MS))
            return
          }
          signal.removeEventListener('abort', onAbort)
          resolve()
        }
        let timer: NodeJS.Timeout = setTimeout(
          wake,
          Math.min(Math.max(0, dueMs - nowMs()) / pace.times, MAX_TIMEOUT_MS),
        )
        signal.addEventListener('abort', onAbort, { once: true })
      }),
  }
}

const MAX_TIMEOUT_MS = 2 ** 31 - 1

/** Sleeps for `ms` of bench time. */
export function sleep(clock: Clock, ms: number, signal: AbortSignal): Promise<void> {
  return clock.sleepUntil(clock.nowMs() + ms, signal)
}
