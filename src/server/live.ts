import type { IncomingMessage } from 'node:http'
import type { Duplex } from 'node:stream'
import { type RawData, WebSocket, WebSocketServer } from 'ws'
import type { LiveSource } from '../alignment/live-source.ts'
import { BenchError } from '../fault/bench-error.ts'
import type { FromPage, LiveFrame, ToPage } from '../schema/messages/live-frame.ts'
import type { Clock } from '../system/clock.ts'
import { within } from '../system/deadline.ts'
import type { Log } from '../system/log.ts'
import { type Answer, openAnswers } from './answers.ts'
import { type Heard, openAllowance, openInbox } from './inbox.ts'
import { type Outbox, openOutbox } from './outbox.ts'
import { FOR_EVERY_PAGE, NOBODY_STEERS, presence, type Role, roleOf, type SteeringEvent, steer } from './steering.ts'
import { textFrame } from './text-frame.ts'

/** Most pages at a time. */
export const MAX_PAGES = 64
/** Longest message from a page, bytes; a longer one ends the connection. */
const MAX_MESSAGE_BYTES = 64 * 1024
const TICK_MS = 250
const TICKS_PER_BEAT = 4
/** A page may send this many unusable messages at once, and one more every ten seconds. */
const STRIKES = 10
const STRIKES_PER_S = 0.1
/** Requests of one page that may wait for their answers. */
const MAX_UNANSWERED = 32
/** Time for a page to say goodbye before its socket is cut, ms. */
const GOODBYE_MS = 300

interface Page {
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
  const pages = new Map<number, Page>()
  const answers = openAnswers()
  const stop = new AbortController()
  let numbers = 0
  let steering = NOBODY_STEERS
  let present = false
  let closing: Promise<void> | null = null
  /** The welcome that pages know. */
  let welcomed = textOf(source.welcome())

  const say = (page: Page, message: ToPage) => page.outbox.say(textOf(message))

  const showFrame = (frame: LiveFrame) => {
    if (pages.size === 0) return
    const text = textOf(frame)
    const first = steering.steers === null ? undefined : pages.get(steering.steers)
    first?.outbox.frame(text) // hands and ears are there; who only watches can wait for the loop
    for (const page of pages.values()) if (page !== first) page.outbox.frame(text)
  }

  const tellPresence = () => {
    const now = presence(steering, clock.nowMs())
    if (now.present === present) return
    present = now.present
    log.info({ present }, now.why)
    source.steererPresent(now.present, now.why)
  }

  const steerBy = (event: SteeringEvent): Answer => {
    const { after, ok, words } = steer(steering, event)
    steering = after
    for (const page of pages.values()) {
      const role = roleOf(steering, page.number)
      if (page.role?.steering === role.steering && page.role.asked === role.asked) continue
      page.role = role
      say(page, { kind: 'role', ...role })
    }
    return { ok, words }
  }

  /** From here on the page counts as gone, whatever its socket still does. */
  const forget = (page: Page, why: string) => {
    if (!pages.delete(page.number)) return
    log.info({ page: page.who }, why)
    steerBy({ what: 'went', page: page.number })
    tellPresence()
  }

  const dismiss = (page: Page, why: string) => {
    page.socket.close(1008, why)
    forget(page, why)
    // Stopping is the only thing that wakes this sleeper early, and it cuts every socket itself.
    clock.sleepUntil(clock.nowMs() + GOODBYE_MS, stop.signal).then(
      () => page.socket.terminate(),
      () => {},
    )
  }

  const refuse = (page: Page, id: string, happened: string) => {
    const error = new BenchError('SERVER_FRAME_REFUSED', page.who, happened)
    log.warn({ code: error.code, page: page.who }, error.message)
    say(page, { kind: 'answer', id, ok: false, words: error.message })
    if (!page.pardon()) dismiss(page, 'too many unusable messages')
  }

  const answerTo = (page: Page, message: Exclude<FromPage, { kind: 'here' }>): Promise<Answer> => {
    const { kind } = message
    // What a page asks about its own part means nothing to another one, so only the rest is remembered across pages.
    const own = kind === 'steer' || kind === 'hand over'
    const key = `${own ? page.number : ''} ${JSON.stringify(message)}`
    // A stop is never taken for an old one: done twice it does no harm.
    const before = kind === 'stop' ? undefined : answers.find(key)
    if (before) return before
    if (steering.steers !== page.number && !FOR_EVERY_PAGE.includes(kind)) {
      const error = new BenchError('SERVER_NOT_STEERING', page.who, `it asked for "${kind}" and only watches`)
      return Promise.resolve({ ok: false, words: error.message })
    }
    const answer = own ? Promise.resolve(askSteering(page, kind)) : source.request(message)
    answers.keep(key, answer)
    return answer
  }

  const askSteering = (page: Page, kind: 'steer' | 'hand over'): Answer => {
    const { number } = page
    const told = steerBy(
      kind === 'steer'
        ? { what: 'asks to steer', page: number, atMs: clock.nowMs() }
        : { what: 'hands over', page: number },
    )
    tellPresence()
    if (told.ok) return told
    return { ok: false, words: new BenchError('JOB_REQUEST_REFUSED', page.who, told.words).message }
  }

  const hear = async (page: Page, data: RawData, binary: boolean) => {
    if (!pages.has(page.number)) return // dismissed: what it still sends is not read
    const heard = page.read(binary ? '' : data.toString(), binary)
    if (!heard.ok) return refuse(page, heard.id, heard.happened)
    const { message } = heard
    if (message.kind === 'here') {
      steerBy({ what: 'here', page: page.number, visible: message.visible, atMs: clock.nowMs() })
      return tellPresence()
    }
    if (page.unanswered >= MAX_UNANSWERED)
      return refuse(page, message.id, `${MAX_UNANSWERED} of its requests are not answered yet`)
    page.unanswered += 1
    const answer = await answerTo(page, message)
    page.unanswered -= 1
    if (pages.has(page.number)) say(page, { kind: 'answer', id: message.id, ok: answer.ok, words: answer.words })
  }

  const welcome = (socket: WebSocket, request: IncomingMessage, stream: Duplex) => {
    numbers += 1
    const page: Page = {
      number: numbers,
      who: `page ${numbers} (${request.socket.remoteAddress}:${request.socket.remotePort})`,
      socket,
      outbox: openOutbox(wireOf(socket, stream), clock),
      read: openInbox(clock),
      pardon: openAllowance(STRIKES, STRIKES_PER_S, clock),
      unanswered: 0,
      role: null,
    }
    socket.on('message', (data, binary) => void hear(page, data, binary))
    socket.on('pong', (mark) => page.outbox.ponged(mark.toString()))
    socket.on('close', (code) => forget(page, `it went (${code})`))
    // After this ws ends the connection by itself: a message over the limit, broken framing, a reset.
    socket.on('error', (cause) => {
      const error = new BenchError('SERVER_FRAME_REFUSED', page.who, cause.message, cause)
      log.warn({ code: error.code, page: page.who }, error.message)
    })
    const first = textOf(source.welcome())
    if (pages.size === 0) welcomed = first
    page.outbox.say(first)
    pages.set(page.number, page)
    log.info({ page: page.who }, 'it came')
    steerBy({ what: 'came', page: page.number, atMs: clock.nowMs() })
    page.outbox.frame(textOf(source.latest()))
    tellPresence()
  }

  /** What a page was told of the bench grows old: a link goes or comes, a job is closed. */
  const tellChanges = () => {
    if (pages.size === 0) return
    const now = textOf(source.welcome())
    if (Buffer.compare(now, welcomed) === 0) return
    welcomed = now
    for (const page of pages.values()) page.outbox.say(now)
  }

  const tick = (count: number) => {
    if (count % TICKS_PER_BEAT === 0) {
      tellChanges()
      const beat = textOf({ kind: 'beat', atMs: serviceClock.nowMs() })
      for (const page of pages.values()) page.outbox.mention(beat)
    }
    for (const page of [...pages.values()]) {
      const why = page.outbox.tick()
      if (why === null) continue
      log.warn({ page: page.who }, `${page.who}: ${why}; cut off`)
      page.socket.terminate()
      forget(page, why)
    }
    steerBy({ what: 'time passes', atMs: clock.nowMs() })
    tellPresence()
  }

  const run = async () => {
    let dueMs = clock.nowMs() + TICK_MS
    for (let count = 1; ; count += 1) {
      await clock.sleepUntil(dueMs, stop.signal)
      tick(count)
      dueMs = Math.max(dueMs + TICK_MS, clock.nowMs()) // after a pause of the whole computer: no burst of beats
    }
  }
  run().catch((reason) => {
    if (!stop.signal.aborted) throw reason // a programming mistake: main.ts makes the bench safe
  })
  const deafen = source.onFrame(showFrame)

  const close = async () => {
    deafen()
    stop.abort(new Error('the service stops'))
    for (const socket of sockets.clients) socket.close(1001, 'the service stops')
    await within(clock, GOODBYE_MS, allGone(sockets.clients), () => {}) // woken early when all have gone
    for (const socket of sockets.clients) socket.terminate()
    for (const page of [...pages.values()]) forget(page, 'it was cut off because the service stops')
  }

  return {
    hasRoom: () => closing === null && pages.size < MAX_PAGES,
    accept: (request, socket, head) =>
      sockets.handleUpgrade(request, socket, head, (page) => welcome(page, request, socket)),
    clients: () => pages.size,
    close: () => {
      closing ??= close()
      return closing
    },
  }
}

async function allGone(sockets: ReadonlySet<WebSocket>): Promise<void> {
  await Promise.all([...sockets].map((socket) => new Promise<void>((resolve) => socket.once('close', () => resolve()))))
}

/**
 * Texts go straight to the stream under `socket`: framed once for all pages, in one write each, that is two thirds of the
 * time to thirty of them. ws puts its own frames there whole and at once as well, so the two never mix.
 */
function wireOf(socket: WebSocket, stream: Duplex) {
  const open = () => socket.readyState === WebSocket.OPEN
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

/** Made once, shared by all pages. */
function textOf(message: ToPage): Uint8Array {
  return textFrame(JSON.stringify(message))
}
