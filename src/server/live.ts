import type { IncomingMessage } from 'node:http'
import type { Duplex } from 'node:stream'
import { type WebSocket, WebSocketServer } from 'ws'
import type { LiveSource } from '../alignment/live-source.ts'
import { BenchError } from '../fault/bench-error.ts'
import type { Clock } from '../system/clock.ts'
import { within } from '../system/deadline.ts'
import type { Log } from '../system/log.ts'
import { openPage, type Page, textOf } from './page.ts'
import { Pages } from './pages.ts'
import { Requests } from './requests.ts'

/** Most pages at a time. */
export const MAX_PAGES = 64
/** Longest message from a page, bytes; a longer one ends the connection. */
const MAX_MESSAGE_BYTES = 64 * 1024
const TICK_MS = 250
const TICKS_PER_BEAT = 4
/** Time for a page to say goodbye before its socket is cut, ms. */
const GOODBYE_MS = 300

/** The pages that are connected: frames out to all, requests in from the one that steers. */
export interface Live {
  /** Whether one more page may come. */
  hasRoom(): boolean
  /** Takes over a socket whose caller was checked before. */
  accept(request: IncomingMessage, socket: Duplex, head: Buffer): void
  clients(): number
  /** Says goodbye to every page, waits 300 ms of the clock at most, cuts the rest. Idempotent, never throws. */
  close(): Promise<void>
}

export interface LiveOptions {
  readonly source: LiveSource
  readonly protocol: string
  /** The clock of the frames, told to the pages with each beat. */
  readonly serviceClock: Clock
  /** The clock of the people and browsers at the pages, for all that is waited for. */
  readonly clock: Clock
  readonly log: Log
}

/** Starts listening to the source and beating once a second; pages come through `accept`. */
export function openLive({ source, protocol, serviceClock, clock, log }: LiveOptions): Live {
  const sockets = new WebSocketServer({
    noServer: true,
    maxPayload: MAX_MESSAGE_BYTES,
    perMessageDeflate: false,
    handleProtocols: () => protocol,
  })
  const stop = new AbortController()
  const pages = new Pages({ source, clock, log })
  const dismiss = dismisser(pages, clock, stop.signal)
  const requests = new Requests({ source, pages, clock, log, dismiss })
  let numbers = 0
  let closing: Promise<void> | null = null

  const accepted = (socket: WebSocket, request: IncomingMessage, stream: Duplex) => {
    numbers += 1
    const page = openPage(numbers, socket, request, stream, clock)
    listenTo(page, { pages, requests, log })
    pages.enter(page)
  }

  keepBeating(pages, { serviceClock, clock }, stop.signal).catch((reason) => {
    if (!stop.signal.aborted) throw reason // a programming mistake: main.ts makes the bench safe
  })
  const deafen = source.onFrame((frame) => pages.showFrame(frame))

  const close = async () => {
    deafen()
    stop.abort(new Error('the service stops'))
    for (const socket of sockets.clients) socket.close(1001, 'the service stops')
    await within(clock, GOODBYE_MS, allGone(sockets.clients), () => {}) // woken early when all have gone
    for (const socket of sockets.clients) socket.terminate()
    for (const page of pages.all()) pages.forget(page, 'it was cut off because the service stops')
  }

  return {
    hasRoom: () => closing === null && pages.count < MAX_PAGES,
    accept: (request, socket, head) =>
      sockets.handleUpgrade(request, socket, head, (page) => accepted(page, request, socket)),
    clients: () => pages.count,
    close: () => {
      closing ??= close()
      return closing
    },
  }
}

/** Tells a page why it has to go, and cuts it off where it does not. */
function dismisser(pages: Pages, clock: Clock, stopping: AbortSignal): (page: Page, why: string) => void {
  return (page, why) => {
    page.socket.close(1008, why)
    pages.forget(page, why)
    // Stopping is the only thing that wakes this sleeper early, and it cuts every socket itself.
    clock.sleepUntil(clock.nowMs() + GOODBYE_MS, stopping).then(
      () => page.socket.terminate(),
      () => {},
    )
  }
}

function listenTo(
  page: Page,
  { pages, requests, log }: { readonly pages: Pages; readonly requests: Requests; readonly log: Log },
): void {
  const { socket, who } = page
  socket.on('message', (data, binary) => void requests.hear(page, data, binary))
  socket.on('pong', (mark) => page.outbox.ponged(mark.toString()))
  socket.on('close', (code) => pages.forget(page, `it went (${code})`))
  // After this ws ends the connection by itself: a message over the limit, broken framing, a reset.
  socket.on('error', (cause) => {
    const error = new BenchError('SERVER_FRAME_REFUSED', who, cause.message, cause)
    log.warn({ code: error.code, page: who }, error.message)
  })
}

/** Four ticks a second, each fourth with a beat, until `signal` is aborted: then it rejects. */
async function keepBeating(
  pages: Pages,
  { serviceClock, clock }: Pick<LiveOptions, 'serviceClock' | 'clock'>,
  signal: AbortSignal,
): Promise<never> {
  let dueMs = clock.nowMs() + TICK_MS
  for (let count = 1; ; count += 1) {
    await clock.sleepUntil(dueMs, signal)
    if (count % TICKS_PER_BEAT === 0) {
      pages.tellChanges()
      const beat = textOf({ kind: 'beat', atMs: serviceClock.nowMs() })
      for (const page of pages.all()) page.outbox.mention(beat)
    }
    pages.tick()
    dueMs = Math.max(dueMs + TICK_MS, clock.nowMs()) // after a pause of the whole computer: no burst of beats
  }
}

async function allGone(sockets: ReadonlySet<WebSocket>): Promise<void> {
  await Promise.all([...sockets].map((socket) => new Promise<void>((resolve) => socket.once('close', () => resolve()))))
}
