/** Times between service, keeper and standby, ms of real time. */
export const STANDBY = {
  /** Keeper and standby tell each other, and the standby the service, that they are there. */
  beatMs: 500,
  /** Two beats and what is missing to the next one: silent this long counts as frozen. */
  silentMs: 1800,
  /** How often silence is looked for. */
  tickMs: 100,
  /** Whoever was not on time by this much itself first reads what has come, and counts anew. */
  gapMs: 500,
  /** A keeper whose last tick is older than this only switches off. */
  staleMs: 500,
  /** The standby has this long to say that it takes over. */
  answerMs: 600,
  /** No sign of life of a standby for two beats: it is not waited for. */
  doubtfulMs: 1000,
  /** From the beginning of a takeover until "not proved" is said. */
  sayUnprovedMs: 1500,
  /** Off is ordered and proved again this long, this often, once it was proved. */
  proveAgainMs: 5000,
  againMs: 500,
} as const

/** Counts how long somebody has been silent, as seen by a process that may have stood still itself. */
export interface Silence {
  heard(nowMs: number): void
  /** To be called every `STANDBY.tickMs`: how long nobody was heard, ms of the clock; after a gap of one's own 0, counted anew. */
  tick(nowMs: number): number
}

/** `factor`: clock ms per ms of real time. */
export function countSilence(nowMs: number, factor: number): Silence {
  let heardMs = nowMs
  let tickMs = nowMs
  return {
    heard: (atMs) => {
      heardMs = atMs
    },
    tick: (atMs) => {
      if (atMs - tickMs > STANDBY.gapMs * factor) heardMs = atMs
      tickMs = atMs
      return atMs - heardMs
    },
  }
}

/** Clock ms per ms of real time, for what takes real time whatever the clock says: never below 1. */
export function realFactor(times: number): number {
  return Math.max(1, times)
}
