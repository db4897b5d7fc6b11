import type { Clock } from '../system/clock.ts'
import { openFraming } from './framing.ts'
import type { LinkManners } from './link.ts'
import type { BytePort } from './port/byte-port.ts'

/** Who is told what comes. */
export interface WireListener {
  line(text: string): void
  /** A line over the limit was begun; it is thrown away up to its end. */
  tooLong(): void
  /** After each chunk and its lines. `more`: something that is no line yet stands behind the last end. */
  chunk(more: boolean): void
  gone(reason: Error): void
}

/** One connection: a port with framing on it, and when bytes last came. */
export interface Wire {
  /** One message with its end, in one write; a bare end before it where half a command may be left in the instrument. */
  send(text: string, bareFirst?: boolean): Promise<void>
  /** A bare end and these messages, in one write, whatever else is on its way; their echoes are no lines. */
  blind(messages: readonly string[]): Promise<void>
  /** Clock reading at the last byte, ms; minus infinity before the first. */
  lastByteMs(): number
  bytes(): number
  /** Throws away a half line. */
  forget(): void
  /** Idempotent; never rejects. */
  close(): Promise<void>
}

/** Puts framing on a port. A line that only repeats the last message is an echo and no line; a closed wire is silent. */
export function wireUp(
  port: BytePort,
  manners: Pick<LinkManners, 'sendEnd' | 'replyEnd'>,
  clock: Clock,
  to: WireListener,
): Wire {
  const { sendEnd, replyEnd } = manners
  const endBytes = Buffer.from(replyEnd, 'latin1')
  const lastOfEnd = endBytes[endBytes.length - 1]
  let lastSent = ''
  const blindly = new Set<string>()
  let lastByteMs = Number.NEGATIVE_INFINITY
  let bytesSoFar = 0
  let closed = false

  const framing = openFraming(replyEnd, {
    line: (text) => {
      if (text !== lastSent && !blindly.has(text)) to.line(text)
    },
    tooLong: to.tooLong,
  })
  port.onBytes((bytes) => {
    if (closed) return
    lastByteMs = clock.nowMs()
    bytesSoFar += bytes.length
    framing.push(bytes)
    to.chunk(bytes[bytes.length - 1] !== lastOfEnd && moreThanEnds(bytes, endBytes))
  })
  port.onGone((reason) => {
    if (!closed) to.gone(reason)
  })

  return {
    send: (text, bareFirst = false) => {
      lastSent = text
      return port.write(bareFirst ? sendEnd + text + sendEnd : text + sendEnd)
    },
    blind: (messages) => {
      for (const message of messages) blindly.add(message)
      return port.write(['', ...messages, ''].join(sendEnd))
    },
    lastByteMs: () => lastByteMs,
    bytes: () => bytesSoFar,
    forget: () => framing.reset(),
    close: () => {
      closed = true
      return port.close()
    },
  }
}

const CARRIAGE_RETURN = 13
const LINE_FEED = 10

function moreThanEnds(bytes: Buffer, end: Buffer): boolean {
  const at = bytes.lastIndexOf(end)
  const rest = at < 0 ? bytes : bytes.subarray(at + end.length)
  return rest.some((byte) => byte !== 0 && byte !== CARRIAGE_RETURN && byte !== LINE_FEED)
}
