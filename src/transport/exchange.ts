import { BenchError, happenedOf } from '../fault/bench-error.ts'
import type { Clock } from '../system/clock.ts'
import { letArrive, sleepUnless, unless } from '../system/deadline.ts'
import { said, type Words } from '../words/said/said.ts'
import { Alarm } from './alarm.ts'
import type { LinkManners, Reply, Wait } from './link.ts'
import { TAKEN } from './port/byte-port.ts'
import { garbleOf, shown } from './readable.ts'
import type { Wire } from './wire.ts'

/** The operating system must have taken a message within this, ms. */
const SEND_MS = 2000
/** A deadline that wakes later than this had a busy program before it: bytes may be waiting to be read, ms. */
const BUSY_MS = 5
/** Time given to such bytes, ms. */
const READ_MS = 20
/** A real clock may wake a sleeper this much before its time, ms. */
const EARLY_MS = 0.1
const NEVER = Number.POSITIVE_INFINITY

/** What an exchange tells its link. */
export interface ExchangeListener {
  /** Something came that no question asked for, or that cannot be its reply. */
  doubt(why: Words): void
  answered(): void
  /** A question that had `ms`, until `dueMs`, ended without its reply, which may still come. `missed`: its time was up; otherwise it was called off. */
  givenUp(wait: { readonly ms: number; readonly dueMs: number }, missed: boolean): void
  /** The way is of no more use. */
  lose(fault: BenchError): void
}

interface Question {
  readonly text: string
  readonly sentMs: number
  readonly dueMs: number
  readonly wait: Wait
  readonly bytesBefore: number
  readonly resolve: (reply: Reply) => void
  readonly reject: (error: unknown) => void
  reply: string
  lines: number
  /** Why its reply cannot be trusted, should one come. */
  spoiled: Words | null
}

/** One question or message at a time on a wire, each with its deadline. Who may go when, and being in step, is its link's business. */
export class Exchange {
  readonly #who: string
  readonly #manners: LinkManners
  readonly #clock: Clock
  readonly #to: ExchangeListener
  readonly #alarm: Alarm
  #wire: Wire | null = null
  #question: Question | null = null
  #heeded: AbortSignal | null = null
  #lastSent = ''
  #sending = 0
  #sendDueMs = NEVER
  #mayAgainMs = Number.NEGATIVE_INFINITY

  constructor(who: string, manners: LinkManners, clock: Clock, to: ExchangeListener) {
    this.#who = who
    this.#manners = manners
    this.#clock = clock
    this.#to = to
    this.#alarm = new Alarm(clock, () => void this.#timeUp())
  }

  /** From now on over this wire. */
  over(wire: Wire): void {
    this.#wire = wire
    this.#sending = 0
    this.#mayAgainMs = Number.NEGATIVE_INFINITY
  }

  /** Whether the instrument may be spoken to now. */
  mayGo(): boolean {
    return this.#manners.gapMs === 0 || this.#clock.nowMs() >= this.#mayAgainMs
  }

  /** Waits until it may. */
  async pause(signals: readonly AbortSignal[]): Promise<void> {
    while (!this.mayGo()) await sleepUnless(this.#clock, this.#mayAgainMs, signals)
  }

  /**
   * Messages that nobody answers, whatever else is on its way: the first at once, each further one after the instrument's pause, and all of
   * them once more where the first left within that pause, in which an instrument may be deaf.
   */
  async blind(messages: readonly string[], signal: AbortSignal): Promise<void> {
    const early = this.#manners.gapMs > 0 && (this.#question !== null || !this.mayGo())
    await this.#blindOnce(messages, signal)
    if (!early) return
    await this.pause([signal])
    await this.#blindOnce(messages, signal)
  }

  async #blindOnce(messages: readonly string[], signal: AbortSignal): Promise<void> {
    const wire = this.#wire
    if (!wire) throw new TypeError('nothing is sent before there is a connection')
    const { gapMs } = this.#manners
    if (gapMs === 0) return unless(wire.blind(messages), [signal])
    for (const [at, message] of messages.entries()) {
      if (at > 0) await sleepUnless(this.#clock, this.#clock.nowMs() + gapMs, [signal])
      this.#mayAgainMs = this.#clock.nowMs() + (messages.length - at) * gapMs // nothing else goes out between them
      await unless(wire.blind([message]), [signal])
    }
  }

  /** Sends a question and waits for its one line. Rejects with TRANSPORT_REPLY_TIMEOUT and the like, or `signal.reason` untouched. */
  ask(text: string, wait: Wait): Promise<Reply> {
    return new Promise((resolve, reject) => {
      if (wait.signal !== this.#heeded) this.#heed(wait.signal)
      const sentMs = this.#clock.nowMs()
      this.#question = {
        text,
        sentMs,
        dueMs: sentMs + wait.ms,
        wait,
        bytesBefore: this.#wire?.bytes() ?? 0,
        resolve,
        reject,
        reply: '',
        lines: 0,
        spoiled: null,
      }
      const sending = this.#send(text, false, sentMs, wait.ms)
      if (sending === TAKEN) this.#sent()
      else sending.then(this.#sent, this.#unsent)
    })
  }

  /** Sends a message that has no reply. In doubt, a bare terminator goes first: half a command may have been left in the instrument. */
  async tell(text: string, inDoubt: boolean, limitMs: number): Promise<void> {
    try {
      await this.#send(text, inDoubt, this.#clock.nowMs(), limitMs)
      this.#sent()
    } catch (error) {
      this.#unsent(error)
      throw error
    }
    if (!this.#question) this.#alarm.clear()
    if (this.#manners.gapMs > 0) this.#mayAgainMs = this.#clock.nowMs() + this.#manners.gapMs
  }

  /** The reply on its way, if one is, must not be believed. */
  spoil(why: Words): void {
    if (this.#question) this.#question.spoiled = why
  }

  /** The question on its way, or null. */
  asking(): string | null {
    return this.#question?.text ?? null
  }

  /** The link has ended: nobody is left waiting, nothing sleeps on. */
  end(fault: BenchError): void {
    this.#alarm.stop()
    this.#heed(null)
    this.#takeOff()?.reject(fault)
  }

  line(text: string): void {
    const question = this.#question
    if (question) {
      question.lines += 1
      if (question.lines === 1) question.reply = text
    } else {
      this.#to.doubt(said('link.line-unasked', { line: shown(text) }))
    }
  }

  tooLong(): void {
    const question = this.#question
    this.#to.doubt(said('link.endless-line'))
    if (!question) return
    const happened = said('link.endless-reply', { question: question.text })
    this.#takeOff()
    question.reject(new BenchError('TRANSPORT_REPLY_TOO_LONG', this.#who, happened))
  }

  /** Judges the lines of a chunk together: two lines for one question mean that replies and questions no longer belong to each other. */
  chunk(more: boolean): void {
    const question = this.#question
    if (!question) {
      if (more) this.#to.doubt(said('link.bytes-unasked'))
      return
    }
    if (question.lines === 0) return
    const arrivedMs = this.#wire?.lastByteMs() ?? this.#clock.nowMs()
    const wrong = this.#wrongWith(question, more)
    this.#takeOff()
    if (wrong) {
      this.#to.doubt(wrong.happened)
      question.reject(wrong)
    } else {
      this.#to.answered()
      question.resolve({ text: question.reply, sentMs: question.sentMs, arrivedMs })
    }
  }

  #wrongWith(question: Question, more: boolean): BenchError | null {
    if (question.spoiled !== null) {
      const untrusted = said('link.untrusted', { question: question.text, why: question.spoiled })
      return new BenchError('TRANSPORT_OUT_OF_STEP', this.#who, untrusted)
    }
    if (question.lines > 1 || more) {
      return new BenchError('TRANSPORT_OUT_OF_STEP', this.#who, said('link.more-lines', { question: question.text }))
    }
    const garble = garbleOf(question.reply)
    return garble === null ? null : new BenchError('TRANSPORT_REPLY_GARBLED', this.#who, garble)
  }

  /** The question is no longer on its way; whoever took it off settles it. */
  #takeOff(): Question | null {
    const question = this.#question
    this.#question = null
    this.#sendDueMs = NEVER
    this.#alarm.clear()
    if (this.#manners.gapMs > 0) this.#mayAgainMs = this.#clock.nowMs() + this.#manners.gapMs
    return question
  }

  /**
   * Listens to the signal of the question on its way. A poller asks with the same one for hours, and a listener added and taken off
   * costs as much as the rest of an exchange: it stays until another signal comes or the link ends.
   */
  #heed(signal: AbortSignal | null): void {
    this.#heeded?.removeEventListener('abort', this.#calledOff)
    this.#heeded = signal
    signal?.addEventListener('abort', this.#calledOff)
  }

  readonly #calledOff = () => {
    const question = this.#takeOff()
    if (!question) return
    this.#to.givenUp({ ms: question.wait.ms, dueMs: question.dueMs }, false)
    question.reject(question.wait.signal.reason)
  }

  /** Hands everything over in one write, which must be taken in time. */
  #send(text: string, bareFirst: boolean, nowMs: number, limitMs: number): Promise<void> {
    const dueMs = nowMs + Math.min(limitMs, SEND_MS)
    this.#lastSent = text
    this.#sendDueMs = dueMs
    this.#setAlarm()
    this.#sending += 1
    return (
      this.#wire?.send(text, bareFirst) ?? Promise.reject(new TypeError('nothing is sent before there is a connection'))
    )
  }

  readonly #sent = () => {
    this.#sending -= 1
    if (this.#sending === 0) this.#sendDueMs = NEVER // a reply may overtake the word that its question was taken
  }

  readonly #unsent = (error: unknown) => {
    this.#to.lose(new BenchError('TRANSPORT_LINK_LOST', this.#who, happenedOf(error), error))
  }

  #setAlarm(): void {
    const dueMs = Math.min(this.#sendDueMs, this.#question?.dueMs ?? NEVER)
    if (dueMs < NEVER) this.#alarm.set(dueMs)
  }

  async #timeUp(): Promise<void> {
    const question = this.#question
    const sendDueMs = this.#sendDueMs
    const nowMs = this.#clock.nowMs()
    const replyDueMs = question?.dueMs ?? NEVER
    const dueMs = Math.min(sendDueMs, replyDueMs)
    if (dueMs > nowMs + EARLY_MS) return this.#setAlarm()
    const replyDue = replyDueMs <= nowMs + EARLY_MS
    const busy = nowMs - dueMs > BUSY_MS
    await letArrive(this.#clock, [])
    if (busy) await sleepUnless(this.#clock, nowMs + READ_MS, [])
    const unsent = sendDueMs < NEVER && this.#sendDueMs === sendDueMs
    const open = question !== null && this.#question === question
    if (unsent && (sendDueMs <= nowMs + EARLY_MS || open)) {
      const stalled = said('link.stalled', { message: shown(this.#lastSent) })
      this.#to.lose(new BenchError('TRANSPORT_SEND_STALLED', this.#who, stalled))
    } else if (open && replyDue) {
      this.#miss(question)
    } else {
      this.#setAlarm()
    }
  }

  #miss(question: Question): void {
    const bytes = (this.#wire?.bytes() ?? 0) - question.bytesBefore
    const happened =
      bytes === 0
        ? said('link.no-reply', { question: question.text, time: `${question.wait.ms} ms` })
        : said('link.no-end', { bytes, question: question.text, time: `${question.wait.ms} ms` })
    this.#takeOff()
    question.reject(new BenchError('TRANSPORT_REPLY_TIMEOUT', this.#who, happened))
    this.#to.givenUp({ ms: question.wait.ms, dueMs: question.dueMs }, true)
  }
}
