import type { Clock } from '../system/clock.ts'

/** More than this under way to a page: frames wait, newest only, bytes. */
export const HOLD_ABOVE_BYTES = 256 * 1024
/** More than this that the page's socket has not even taken: the page is cut off, bytes. */
export const CUT_ABOVE_BYTES = 4 * 1024 * 1024
/** A frame that waited this long for a page: the page is cut off, ms. */
export const STALLED_MS = 10_000
/** A ping at least this often, ms; a page that left two unanswered is cut off. */
export const PING_EVERY_MS = 10_000
const MISSES = 2
/** A ping as well when this much was sent since the last answered one, so that what is under way stays known, bytes. */
const PROBE_ABOVE_BYTES = 64 * 1024

/** What an outbox needs of a page's socket. */
export interface Wire {
  /** Bytes that were sent and that the operating system has not taken yet. */
  waitingBytes(): number
  send(text: Uint8Array): void
  /** Comes back through `ponged` when the other side has read everything sent before it. */
  ping(mark: string): void
}

/** The way out to one page: all messages in order, but of the frames never a backlog. */
export interface Outbox {
  /** Sends the frame now, or keeps it (and forgets the one kept before) until the page has caught up. */
  frame(text: Uint8Array): void
  /** Sends a message that must not be skipped. */
  say(text: Uint8Array): void
  /** Sends a message that is worth nothing later: only when no frame waits. */
  mention(text: Uint8Array): void
  ponged(mark: string): void
  /** To be called a few times a second. Returns why the page should be cut off, or null. */
  tick(): string | null
}

/**
 * The socket's own buffer says little: the operating system takes megabytes before it fills. So bytes count as under
 * way until the page has answered a ping that was sent after them.
 */
export function openOutbox(wire: Wire, clock: Clock): Outbox {
  let sentBytes = 0
  let readBytes = 0
  let probeAt: number | null = null
  let held: { readonly text: Uint8Array; readonly sinceMs: number } | null = null
  let pingDueMs = clock.nowMs() + PING_EVERY_MS
  let heardSincePing = true
  let misses = 0

  const underWayBytes = () => Math.max(sentBytes - readBytes, wire.waitingBytes())

  const ping = () => {
    probeAt = sentBytes
    wire.ping(String(sentBytes))
  }

  const put = (text: Uint8Array) => {
    wire.send(text)
    sentBytes += text.length
  }

  const hasRoom = (text: Uint8Array) => {
    const bytes = underWayBytes()
    return bytes === 0 || bytes + text.length <= HOLD_ABOVE_BYTES
  }

  return {
    frame: (text) => {
      if (held === null && hasRoom(text)) return put(text)
      held = { text, sinceMs: held?.sinceMs ?? clock.nowMs() }
      if (probeAt === null) ping() // its answer lets the frame go
    },
    say: put,
    mention: (text) => {
      if (held === null) put(text)
    },
    ponged: (mark) => {
      const bytes = /^\d{1,15}$/.test(mark) ? Number(mark) : Number.NaN
      if (!(bytes <= sentBytes)) return // not one of our pings
      heardSincePing = true
      readBytes = Math.max(readBytes, bytes)
      if (probeAt !== null && readBytes >= probeAt) probeAt = null
      if (held && hasRoom(held.text)) {
        const newest = held.text
        held = null
        put(newest)
      }
    },
    tick: () => {
      const nowMs = clock.nowMs()
      const waiting = wire.waitingBytes()
      if (waiting > CUT_ABOVE_BYTES) return `${waiting} bytes wait for it, more than ${CUT_ABOVE_BYTES}`
      if (held && nowMs - held.sinceMs >= STALLED_MS) return `it has not caught up for ${STALLED_MS / 1000} s`
      // Between frames rather than with one: a ping to this page would delay the next page's frame.
      if (probeAt === null && (held !== null || sentBytes - readBytes >= PROBE_ABOVE_BYTES)) ping()
      if (nowMs < pingDueMs) return null
      pingDueMs = nowMs + PING_EVERY_MS
      misses = heardSincePing ? 0 : misses + 1
      if (misses >= MISSES) return `it answered none of ${MISSES} pings, ${PING_EVERY_MS / 1000} s apart`
      heardSincePing = false
      ping()
      return null
    },
  }
}
