import type { Clock } from './clock.ts'

/** Made once: a reason made at each call would cost a stack trace. */
const CALLED_OFF = new Error('no deadline any more')

/**
 * Calls `late` once, when `ms` have passed on the clock, unless what this gives back is called before: then nothing sleeps on.
 *
 *     const inTime = deadline(clock, 5000, () => stop.abort(TOO_LATE))
 *     await work
 *     inTime()
 */
export function deadline(clock: Clock, ms: number, late: () => void): () => void {
  const off = new AbortController()
  clock.sleepUntil(clock.nowMs() + ms, off.signal).then(late, () => {}) // called off: nobody waits for it
  return () => off.abort(CALLED_OFF)
}

/**
 * What `work` gives or throws, or, where `ms` pass on the clock before, what `late` gives or throws. The work itself is not stopped; nothing
 * sleeps on afterwards.
 *
 *     const state = await within(clock, 6000, supply.safe(why), () => null)
 */
export async function within<Done, Late>(
  clock: Clock,
  ms: number,
  work: Promise<Done>,
  late: () => Late,
): Promise<Done | Late> {
  const off = new AbortController()
  const passed = clock.sleepUntil(clock.nowMs() + ms, off.signal).then(late)
  passed.catch(() => {}) // told by the race, or not wanted any more
  try {
    return await Promise.race([work, passed])
  } finally {
    off.abort(CALLED_OFF)
  }
}

/** Resolves when `signal` is aborted, at once if it was. */
export function untilAborted(signal: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    if (signal.aborted) return resolve()
    signal.addEventListener('abort', () => resolve(), { once: true })
  })
}

/**
 * Waits for `work`, but not longer than `giveUpMs()` past an abort: then `leftBehind` is called and this rejects with `signal.reason`, while the
 * work goes on by itself.
 */
export function hardlyPast<T>(
  work: Promise<T>,
  signal: AbortSignal,
  clock: Clock,
  giveUpMs: () => number,
  leftBehind = () => {},
): Promise<T> {
  return new Promise<T>((resolve, reject) => {
    let settled = () => {}
    const onAbort = () => {
      settled = deadline(clock, giveUpMs(), () => {
        leftBehind()
        reject(signal.reason)
      })
    }
    const settle = () => {
      signal.removeEventListener('abort', onAbort)
      settled()
    }
    if (signal.aborted) onAbort()
    else signal.addEventListener('abort', onAbort)
    work.then(
      (value) => {
        settle()
        resolve(value)
      },
      (error: unknown) => {
        settle()
        reject(error)
      },
    )
  })
}

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
    over.abort(CALLED_OFF)
  }
}

/**
 * Lets whatever is due by now happen first, the bytes that the computer already holds among it, before somebody is called silent.
 * A real timer, however short, comes after the sockets were looked at; a clock that stands still wakes those in order who are due now.
 */
export function letArrive(clock: Clock, signals: readonly AbortSignal[]): Promise<void> {
  return sleepUnless(clock, clock.nowMs(), signals)
}
