import type { Clock } from '../system/clock.ts'

/** Where the clock on the wall, and the one that runs on while the computer sleeps, stand against the bench clock, ms. */
export interface OtherClocks {
  readonly wall?: number
  readonly boot?: number
}

/** Time as the bench sees it: it stands still between two comings. */
export interface HeldTime {
  nowMs(): number
  wallTime(): string
  bootMs(): number
  /** From now on it is `atMs`. */
  stand(atMs: number, others: OtherClocks): void
}

/** A clock that is off by less than this since it was last said is not said anew, ms: the one of the computer is read in whole ones. */
const WALL_MS = 5
const BOOT_MS = 100

/** Held at `from`. */
export function heldTime(from: { readonly atMs: number; readonly wallMs: number; readonly bootMs: number }): HeldTime {
  let now = from.atMs
  let wallFrom = { atMs: from.atMs, isMs: from.wallMs }
  let bootFrom = { atMs: from.atMs, isMs: from.bootMs }
  const since = (one: { readonly atMs: number; readonly isMs: number }) => one.isMs + (now - one.atMs)
  return {
    nowMs: () => now,
    wallTime: () => new Date(Math.floor(since(wallFrom))).toISOString(),
    bootMs: () => since(bootFrom),
    stand: (atMs, { wall, boot }) => {
      now = atMs
      if (wall !== undefined) wallFrom = { atMs, isMs: wall }
      if (boot !== undefined) bootFrom = { atMs, isMs: boot }
    },
  }
}

/** Lets `held` catch up with a clock; returns what has to be written down of it. Whole microseconds, never before the clock's own time. */
export function catchUp(held: HeldTime, clock: Clock): { readonly at: number } & OtherClocks {
  const nowMs = clock.nowMs()
  const at = Math.max(held.nowMs(), nowMs, Math.ceil(nowMs * 1000) / 1000) // the division may round down
  held.stand(at, {})
  const wallMs = Date.parse(clock.wallTime())
  const bootMs = clock.bootMs?.()
  const others = {
    ...(Math.abs(wallMs - Date.parse(held.wallTime())) > WALL_MS ? { wall: wallMs } : {}),
    ...(bootMs !== undefined && Math.abs(bootMs - held.bootMs()) > BOOT_MS ? { boot: bootMs } : {}),
  }
  held.stand(at, others)
  return { at, ...others }
}
