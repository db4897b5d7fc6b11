import { BenchError, happenedOf } from '../fault/bench-error.ts'
import type { Clock } from '../system/clock.ts'
import { sleepUnless, unless } from '../system/deadline.ts'
import { said, type Words } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { converse, type LineConversation } from './conversation.ts'
import { Exchange } from './exchange.ts'
import type { Link, LinkManners, Owed, Reply, Wait } from './link.ts'
import { readAddress } from './port/address.ts'
import { openPort } from './port/open-port.ts'
import type { LinkKind, Way } from './port/opener.ts'
import type { PortNeeds } from './port/port-needs.ts'
import { shown } from './readable.ts'
import { resync } from './resync.ts'
import { Turnstile } from './turnstile.ts'
import { type Wire, wireUp } from './wire.ts'

/** What a link takes. `wait.ms` is how long one answer may take while the link is opened; `who` is named in each fault. */
export interface LinkOptions {
  readonly who: string
  readonly address: string
  readonly manners: LinkManners
  readonly deps: Pick<PortNeeds, 'clock' | 'log' | 'memory' | 'through'>
  readonly wait: Wait
  /** Handed over as soon as there is a connection, before anything is asked. */
  readonly first?: readonly string[]
  /** Neither missed replies nor a failed resync end the link: what was written may still be under way. */
  readonly hardy?: boolean
  /** Replies that an earlier link to the same instrument still had to come. */
  readonly owed?: Owed
}

/** A reply is no longer expected this long after its question was given up, ms. */
const LATE_MS = 1000
/** A driver needs this between closing a port and opening it again, ms. */
const REOPEN_MS = 200
/** Unanswered questions in a row that end a link. */
const MISSES = 2
/** Sentinels are numbers that hardly any register or counter holds: 65 to 126. */
const SENTINELS = { first: 65, count: 62 }
/** A connection whose opening failed is kept this long for the sake of its first messages, ms. */
const KEPT_MS = 2000
/** From the first messages of a connection to their repetition, and the longest such wait, ms. */
const FIRST_WAIT_MS = 50
const FIRST_WAIT_MOST_MS = 1000
const NOTHING_OWED: Owed = { count: 0, slowestMs: 0, fromMs: Number.NEGATIVE_INFINITY }
const AWAITED = said('link.reply-awaited')

/**
 * Opens a link: connects, lets the instrument settle, and brings it in step. Throws TRANSPORT_ADDRESS, TRANSPORT_OPEN_FAILED,
 * TRANSPORT_BUSY, TRANSPORT_DENIED, TRANSPORT_REPLY_TIMEOUT, TRANSPORT_REPLY_GARBLED, TRANSPORT_OUT_OF_STEP,
 * TRANSPORT_LINK_LOST, TRANSPORT_SEND_STALLED, or `signal.reason` untouched; nothing stays open then.
 */
export async function openLink(options: LinkOptions): Promise<Link> {
  const link = new BenchLink(options, readAddress(options.address))
  try {
    await link.begin(options.wait)
    return link
  } catch (error) {
    await link.giveUp(error, options.wait.signal)
    throw error
  }
}

class BenchLink implements Link {
  readonly who: string
  readonly kind: LinkKind
  readonly #way: Way
  readonly #manners: LinkManners
  readonly #deps: LinkOptions['deps']
  readonly #clock: Clock
  readonly #first: readonly string[]
  readonly #hardy: boolean
  readonly #turnstile = new Turnstile()
  readonly #exchange: Exchange
  /** Aborted when the link ends, so that whatever waits inside it ends at once. */
  readonly #end = new AbortController()
  #blindly: Promise<void> | null = null

  #wire: Wire | null = null
  #begun = false
  #ended: BenchError | null = null
  #lost: BenchError | null = null
  #toLost: ((fault: BenchError) => void) | null = null

  /** Why the next question must not be asked yet; null when in step. */
  #doubts: Words | null = said('link.nothing-asked')
  /** Takes the lines while the link is being brought back in step. */
  #talk: LineConversation | null = null
  #identity: string | null = null
  #sentinel: number
  #missesInARow = 0
  #timesInStep = 0
  /** Replies that may still come. */
  #owed: Owed
  /** How long one answer may take while the link is opened, ms. */
  #openingMs = 0
  #toldInDoubt = false
  #rightForm = ''

  constructor(options: LinkOptions, way: Way) {
    this.who = options.who
    this.kind = way.kind
    this.#way = way
    this.#manners = options.manners
    this.#deps = options.deps
    this.#clock = options.deps.clock
    this.#first = options.first ?? []
    this.#hardy = options.hardy ?? false
    this.#owed = options.owed ?? NOTHING_OWED
    this.#exchange = new Exchange(this.who, this.#manners, this.#clock, {
      doubt: (why) => this.doubt(why),
      answered: () => {
        this.#doubts = null
        this.#missesInARow = 0
      },
      givenUp: (wait, missed) => this.#givenUp(wait, missed),
      lose: (fault) => this.#lose(fault),
    })
    // Where the last session on this port stopped counting is unknown: begin somewhere else than it began.
    this.#sentinel = Math.floor(this.#clock.nowMs()) % SENTINELS.count
  }

  async begin(wait: Wait): Promise<void> {
    wait.signal.throwIfAborted()
    this.#openingMs = wait.ms
    await this.#connect(wait.signal)
    await this.#bringInStep(wait.signal)
    this.#begun = true
  }

  ask(text: string, wait: Wait): Promise<Reply> {
    const wrong = this.#wrongForm(text)
    if (wrong) return Promise.reject(wrong)
    return this.#turnstile.pass(() => this.#ask(text, wait), wait.signal)
  }

  tell(text: string, wait: Wait): Promise<void> {
    const wrong = this.#wrongForm(text)
    if (wrong) return Promise.reject(wrong)
    return this.#turnstile.pass(() => this.#tell(text, wait), wait.signal)
  }

  async blind(messages: readonly string[]): Promise<void> {
    if (this.#ended || !this.#wire)
      throw this.#ended ?? new BenchError('TRANSPORT_CLOSED', this.who, said('link.not-connected'))
    // The same list is under way, at the instrument's pace: once more on top of it would only come too early.
    this.#blindly ??= this.#exchange.blind(messages, this.#end.signal).finally(() => {
      this.#blindly = null
    })
    try {
      await this.#blindly
    } catch (error) {
      this.#lose(new BenchError('TRANSPORT_LINK_LOST', this.who, happenedOf(error), error))
      throw this.#ended ?? error
    }
  }

  /**
   * Closes a link whose opening failed with `error`. Where nothing was heard at all, what was handed over first may still be under way: the
   * connection is kept for 2 s more, on which it is told again, unless the opening was called off. Never rejects.
   */
  async giveUp(error: unknown, signal: AbortSignal): Promise<void> {
    const mayArrive = error instanceof BenchError && this.#first.length > 0 && this.#wire?.bytes() === 0
    if (mayArrive && !this.#ended) {
      const signals = signal.aborted ? [this.#end.signal] : [this.#end.signal, signal]
      await sleepUnless(this.#clock, this.#clock.nowMs() + KEPT_MS, signals).catch(() => {}) // lost, or not wanted any more
    }
    await this.close()
  }

  doubt(why: Words): void {
    this.#exchange.spoil(why)
    if (this.#doubts === null) this.#deps.log.warn({ who: this.who, why: sentence(why) }, 'link in doubt')
    this.#doubts ??= why
  }

  onLost(listener: (fault: BenchError) => void): void {
    this.#toLost = listener
    const lost = this.#lost
    if (lost) queueMicrotask(() => listener(lost))
  }

  timesInStep(): number {
    return this.#timesInStep
  }

  owed(): Owed | null {
    return this.#owed.count > 0 ? this.#owed : null
  }

  async close(): Promise<void> {
    this.#finish(new BenchError('TRANSPORT_CLOSED', this.who, said('link.closed')))
    await this.#wire?.close()
  }

  #ask(text: string, wait: Wait): Promise<Reply> {
    if (this.#doubts === null && this.#exchange.mayGo()) return this.#put(text, wait)
    return this.#askLater(text, wait)
  }

  async #askLater(text: string, wait: Wait): Promise<Reply> {
    if (this.#doubts !== null) await this.#bringInStep(wait.signal)
    await this.#exchange.pause([wait.signal, this.#end.signal])
    return this.#put(text, wait)
  }

  #put(text: string, wait: Wait): Promise<Reply> {
    this.#doubts = AWAITED // until it is in hand
    return this.#exchange.ask(text, wait)
  }

  /** Goes out even when the link is in doubt: a command to switch off must not wait until an instrument answers. */
  async #tell(text: string, wait: Wait): Promise<void> {
    await this.#exchange.pause([wait.signal, this.#end.signal])
    const inDoubt = this.#doubts !== null
    this.#toldInDoubt ||= inDoubt
    try {
      await unless(this.#exchange.tell(text, inDoubt, wait.ms), [wait.signal, this.#end.signal])
    } catch (error) {
      this.doubt(said('link.called-off', { message: shown(text) }))
      throw this.#ended ?? error
    }
  }

  #wrongForm(text: string): Error | null {
    if (text === this.#rightForm) return null
    if (/[\r\n]/.test(text)) return new TypeError(`${this.who}: a message is one line, not ${shown(text)}`)
    const bytes = text.length + this.#manners.sendEnd.length
    if (bytes <= this.#manners.longestMessage) {
      this.#rightForm = text // a poller asks the same again and again
      return null
    }
    const happened = said('link.message-too-long', {
      message: shown(text),
      bytes,
      most: this.#manners.longestMessage,
    })
    return new BenchError('TRANSPORT_MESSAGE_TOO_LONG', this.who, happened)
  }

  #givenUp({ ms, dueMs }: { readonly ms: number; readonly dueMs: number }, missed: boolean): void {
    const { count, slowestMs, fromMs } = this.#owed
    this.#owed = { count: count + 1, slowestMs: Math.max(slowestMs, ms), fromMs: Math.max(fromMs, dueMs) }
    if (!missed) return
    this.#missesInARow += 1
    if (this.#missesInARow < MISSES || this.#hardy) return
    this.#lose(new BenchError('TRANSPORT_LINK_LOST', this.who, said('link.misses', { count: MISSES })))
  }

  /** In step again, or the link is lost; called off by the caller, it stays in doubt. */
  async #bringInStep(signal: AbortSignal): Promise<void> {
    const why = this.#doubts
    try {
      if (this.#manners.resync === 'reopen' && this.#begun) await this.#reopen(signal)
      this.#identity = (await this.#resync(signal)) ?? this.#identity
    } catch (error) {
      if (this.#ended) throw this.#ended
      signal.throwIfAborted()
      if (error instanceof BenchError && this.#begun && !this.#hardy) this.#lose(error)
      throw error
    } finally {
      this.#stillOwed()
      this.#talk = null
    }
    this.#deps.log.info({ who: this.who, why: why && sentence(why) }, 'link in step')
    this.#timesInStep += 1
    this.#doubts = null
    this.#owed = NOTHING_OWED
    this.#toldInDoubt = false
  }

  /** A conversation that was called off may have left a question of its own unanswered. */
  #stillOwed(): void {
    const heard = this.#talk?.heard()
    if (!heard || heard.asked === 0) return
    const { count, slowestMs } = this.#owed
    const left = Math.max(0, count + heard.asked - heard.lines)
    this.#owed = { count: left, slowestMs: Math.max(slowestMs, LATE_MS), fromMs: this.#clock.nowMs() }
  }

  async #resync(signal: AbortSignal): Promise<string | null> {
    const wire = this.#wire
    if (!wire) throw new TypeError('a link is brought in step on a connection')
    const signals = [signal, this.#end.signal]
    this.#talk = converse(this.who, wire, this.#clock, signals, {
      say: async (text) => {
        await this.#exchange.pause(signals)
        await unless(this.#exchange.tell(text, false, LATE_MS), signals)
      },
      nextSentinel: () => {
        this.#sentinel = (this.#sentinel + 1) % SENTINELS.count
        return SENTINELS.first + this.#sentinel
      },
    })
    return resync(this.#talk, {
      manners: this.#manners,
      patienceMs: this.#begun ? this.#owed.slowestMs + LATE_MS : this.#openingMs,
      owed: this.#begun ? this.#owed : { ...this.#owed, slowestMs: Math.max(this.#owed.slowestMs, this.#openingMs) },
      waitsForOwed: !this.#hardy, // the keeper looks again and again, and must not be kept from it
      mayClear: !this.#toldInDoubt,
      identity: this.#identity,
    })
  }

  async #reopen(signal: AbortSignal): Promise<void> {
    await this.#wire?.close()
    await sleepUnless(this.#clock, this.#clock.nowMs() + REOPEN_MS, [signal, this.#end.signal])
    await this.#connect(signal)
  }

  async #connect(signal: AbortSignal): Promise<void> {
    const { clock, log, memory, through } = this.#deps
    const port = await openPort(this.#way, { who: this.who, clock, log, memory, through, signal })
    if (this.#ended) {
      await port.close()
      throw this.#ended
    }
    const wire = wireUp(port, this.#manners, clock, {
      line: (text) => this.#line(text),
      tooLong: () => (this.#talk ? undefined : this.#exchange.tooLong()),
      chunk: (more) => (this.#talk ? undefined : this.#exchange.chunk(more)),
      gone: (reason) => this.#gone(reason),
    })
    this.#wire = wire
    this.#exchange.over(wire)
    if (this.#first.length > 0) {
      await this.blind(this.#first)
      this.#firstAgain().catch(() => {}) // the link has ended, which whoever opens it is told
    }
    await sleepUnless(clock, clock.nowMs() + this.#manners.settleMs, [signal, this.#end.signal])
    wire.forget()
  }

  #line(text: string): void {
    const { count } = this.#owed
    const late = this.#talk === null && count > 0 && this.#exchange.asking() === null
    if (late) this.#owed = { ...this.#owed, count: count - 1 }
    const to = this.#talk ?? this.#exchange
    to.line(text)
  }

  /** A first message may be lost: again, later each time, until the link is in step. */
  async #firstAgain(): Promise<void> {
    const leastMs = Math.max(FIRST_WAIT_MS, this.#manners.gapMs)
    for (let waitMs = leastMs; !this.#begun; waitMs = Math.min(2 * waitMs, Math.max(leastMs, FIRST_WAIT_MOST_MS))) {
      await sleepUnless(this.#clock, this.#clock.nowMs() + waitMs, [this.#end.signal])
      if (!this.#begun) await this.blind(this.#first)
    }
  }

  #gone(reason: Error): void {
    const silent = (this.#wire?.bytes() ?? 0) === 0
    const turnedAway = !this.#begun && silent && this.kind.turnsAway
    const asking = this.#exchange.asking()
    const why = happenedOf(reason)
    this.#lose(
      turnedAway
        ? new BenchError('TRANSPORT_BUSY', this.who, said('link.turned-away', { why }), reason)
        : new BenchError(
            'TRANSPORT_LINK_LOST',
            this.who,
            asking === null ? why : said('link.gone-unanswered', { why, question: asking }),
            reason,
          ),
    )
  }

  #lose(fault: BenchError): void {
    if (this.#ended) return
    this.#finish(fault)
    void this.#wire?.close()
    if (!this.#begun) return // whoever opens it is told by the rejection
    this.#lost = fault
    this.#deps.log.warn({ who: this.who, code: fault.code, happened: sentence(fault.happened) }, 'link lost')
    this.#toLost?.(fault)
  }

  /** Everybody who waits is rejected: the one on the way now, the others at their turn, which follows at once. */
  #finish(fault: BenchError): void {
    if (this.#ended) return
    this.#ended = fault
    this.#turnstile.close(fault)
    this.#end.abort(fault)
    this.#exchange.end(fault)
  }
}
