/** How far back a raise is remembered, ms: longer than any reading takes. */
const REMEMBER_MS = 60_000

/** Counts commanded changes, and knows which epoch was in force when a measurement began. */
export interface Epochs {
  readonly current: number
  /** Returns the new epoch. */
  raise(nowMs: number): number
  /**
   * The epoch of a measurement that began at `beganMs`. A raise in the same instant counts as later, so that nothing measured
   * before a change passes for new; `atLeast` is the epoch that the caller knows was in force already.
   */
  at(beganMs: number, atLeast?: number): number
}

export function countEpochs(): Epochs {
  let raises: { readonly epoch: number; readonly atMs: number }[] = []
  let current = 0
  return {
    get current() {
      return current
    },
    raise: (nowMs) => {
      current += 1
      const old = raises.findLastIndex((raise) => raise.atMs < nowMs - REMEMBER_MS)
      raises = [...raises.slice(Math.max(0, old)), { epoch: current, atMs: nowMs }]
      return current
    },
    at: (beganMs, atLeast = 0) => {
      const last = raises.findLast((raise) => raise.atMs < beganMs)
      const before = (raises[0]?.epoch ?? 1) - 1
      return Math.max(atLeast, last?.epoch ?? before)
    },
  }
}
