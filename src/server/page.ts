import type { IncomingMessage } from 'node:http'
import type { Duplex } from 'node:stream'
import type { WebSocket } from 'ws'
import type { ToPage } from '../schema/messages/live-frame.ts'
import type { Clock } from '../system/clock.ts'
import { type Heard, openAllowance, openInbox } from './inbox.ts'
import { type Outbox, openOutbox, type Wire } from './outbox.ts'
import type { Role } from './steering.ts'
import { textFrame } from './text-frame.ts'

/** A page may send this many unusable messages at once, and one more every ten seconds. */
const STRIKES = 10
const STRIKES_PER_S = 0.1

/** A page that is connected. */
export interface Page {
  readonly number: number
  readonly who: string
  readonly socket: WebSocket
  readonly outbox: Outbox
  readonly read: (text: string, binary: boolean) => Heard
  /** False when the page has sent too much rubbish. */
  readonly pardon: () => boolean
  unanswered: number
  role: Role | null
}

/** The page at `socket`; `stream` is what lies under it. */
export function openPage(
  number: number,
  socket: WebSocket,
  request: IncomingMessage,
  stream: Duplex,
  clock: Clock,
): Page {
  return {
    number,
    who: `page ${number} (${request.socket.remoteAddress}:${request.socket.remotePort})`,
    socket,
    outbox: openOutbox(wireOf(socket, stream), clock),
    read: openInbox(clock),
    pardon: openAllowance(STRIKES, STRIKES_PER_S, clock),
    unanswered: 0,
    role: null,
  }
}

/** A message of its own, which must not be skipped. */
export function say(page: Page, message: ToPage): void {
  page.outbox.say(textOf(message))
}

/** Made once, shared by all pages. */
export function textOf(message: ToPage): Uint8Array {
  return textFrame(JSON.stringify(message))
}

/**
 * Texts go straight to the stream under `socket`: framed once for all pages, in one write each, that is two thirds of the
 * time to thirty of them. ws puts its own frames there whole and at once as well, so the two never mix.
 */
function wireOf(socket: WebSocket, stream: Duplex): Wire {
  const open = () => socket.readyState === socket.OPEN
  return {
    waitingBytes: () => socket.bufferedAmount,
    send: (frame: Uint8Array) => {
      if (open()) stream.write(frame)
    },
    // ws reports a failed write through its error and close events as well; the callback keeps it from being thrown.
    ping: (mark: string) => {
      if (open()) socket.ping(mark, false, () => {})
    },
  }
}
