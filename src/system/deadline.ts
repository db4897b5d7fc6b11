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
