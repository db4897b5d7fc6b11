import { BenchError } from '../../fault/bench-error.ts'
import type { Words } from '../../words/said/said.ts'

/** Why a way is gone, as its owner and whoever still writes are told: `happened` says it. */
export function portGone(name: string, why: Words, cause?: unknown): BenchError {
  return new BenchError('TRANSPORT_LINK_LOST', name, why, cause)
}

/** The listeners of a byte port: bytes go to one, the end of the way is told once, and what came too early is kept for it. */
export interface PortEvents {
  onBytes(listener: (bytes: Buffer) => void): void
  onGone(listener: (reason: Error) => void): void
  bytes(bytes: Buffer): void
  gone(reason: Error): void
  /** Why it is gone, or null. */
  goneBecause(): Error | null
  /** No more telling: the port is being closed by its owner. */
  mute(): void
}

/** Bytes that come before anybody listens are dropped: a link discards them anyway. */
export function portEvents(): PortEvents {
  let toBytes: (bytes: Buffer) => void = () => {}
  let toGone: ((reason: Error) => void) | undefined
  let reason: Error | null = null
  let muted = false
  return {
    onBytes: (listener) => {
      toBytes = listener
    },
    onGone: (listener) => {
      toGone = listener
      if (reason && !muted) listener(reason)
    },
    bytes: (bytes) => {
      if (!muted) toBytes(bytes)
    },
    gone: (why) => {
      if (reason) return
      reason = why
      if (!muted) toGone?.(why)
    },
    goneBecause: () => reason,
    mute: () => {
      muted = true
    },
  }
}
