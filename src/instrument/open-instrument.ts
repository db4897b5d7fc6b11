import { BenchError, wordsOf } from '../fault/bench-error.ts'
import type { BenchEntry } from '../schema/files/bench-file.ts'
import type { DriverFile, DriverLink } from '../schema/files/driver-file.ts'
import { drainErrors, type QueuedError, readError } from '../scpi/error-queue.ts'
import { isSimulated, readIdentity } from '../scpi/identity.ts'
import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import type { Link, Owed, Reply, Wait } from '../transport/link.ts'
import { openLink } from '../transport/open-link.ts'
import { readAddress } from '../transport/port/address.ts'
import type { MemoryNet } from '../transport/port/byte-port.ts'
import type { LinkKind } from '../transport/port/opener.ts'
import type { Through } from '../transport/port/port-needs.ts'
import { mannersOf } from './link-manners.ts'
import { type SettingsProof, type Standing, settingsProof } from './settings-proof.ts'

export interface InstrumentDeps {
  readonly clock: Clock
  readonly log: Log
  readonly memory?: MemoryNet
  /** Who stands between each link and its ports. */
  readonly through?: Through
}

/** What it takes to open an instrument. `wait.ms` bounds each exchange where it is shorter than the driver's own. */
export interface InstrumentOptions {
  readonly entry: BenchEntry
  readonly driver: DriverFile
  readonly address: string
  readonly deps: InstrumentDeps
  readonly wait: Wait
  /** Handed over before the first question, where it is certain who is there. */
  readonly first?: readonly string[]
  /** Neither missed replies nor a failed resync end the link. */
  readonly hardy?: boolean
  /** Replies that an earlier link to it still had to come. */
  readonly owed?: Owed
}

/** An instrument that answered, is the right one, and has its start messages. */
export interface Instrument {
  readonly who: string
  /** Of its link. */
  readonly kind: LinkKind
  readonly driver: DriverFile
  /** The identity reply, unchanged; "" where the driver has no question for it, or one whose reply differs each time. */
  readonly identity: string
  readonly simulated: boolean
  /** One question, one reply. `patienceMs` takes the place of the driver's own time for a reply. */
  ask(text: string, wait: Wait, patienceMs?: number): Promise<Reply>
  /**
   * A question for a reading, whose reply counts only where it is proved after it that the settings stand: in the same message where the
   * driver allows it, else in questions of its own; where nothing shows it the start messages go first. Throws INSTRUMENT_SETTING_DIFFERS
   * where they are lost, DRIVER_REPLY_UNREADABLE, and what `ask` and `tell` throw.
   */
  read(text: string, wait: Wait, patienceMs?: number): Promise<Reply>
  /** It can be asked whether its settings stand, or has none to lose. */
  readonly tells: boolean
  /** Asks whether the settings stand. Throws what `ask` throws, and DRIVER_REPLY_UNREADABLE. */
  standing(wait: Wait): Promise<Standing>
  /** A message without a reply, then the error queue: throws INSTRUMENT_REFUSED with the instrument's own number and text. */
  tell(text: string, wait: Wait): Promise<void>
  /** What the error queue says of the last question; null when it is empty or there is none. */
  refusal(about: string, wait: Wait): Promise<BenchError | null>
  /** Hands messages over at once, out of turn; what the error queue says of them is read and dropped before the next `tell`. */
  blind(messages: readonly string[]): Promise<void>
  doubt(why: string): void
  /** Asks again who it is (DRIVER_WRONG_INSTRUMENT when it changed) and repeats the start messages: after silence it may have been switched off and on. */
  prepare(wait: Wait): Promise<void>
  /** Asks who it is and compares. */
  greet(wait: Wait): Promise<void>
  onLost(listener: (fault: BenchError) => void): void
  /** Replies that may still come, by a new link too; null for none. */
  owed(): Owed | null
  /** Stop messages, within their own second, then the link. Idempotent; logs, never rejects. */
  close(): Promise<void>
}

/** Time for the stop messages of an instrument that is being closed, ms each. */
const STOP_MS = 1000

/**
 * Opens an instrument: link, identity, error queue drained, start messages. Throws what `openLink` throws, DRIVER_WRONG_INSTRUMENT,
 * DRIVER_REPLY_UNREADABLE and INSTRUMENT_REFUSED; nothing stays open then.
 */
export async function openInstrument(options: InstrumentOptions): Promise<Instrument> {
  const { entry, driver, address, deps, wait } = options
  if (!driver.link) throw new TypeError(`${driver.id} is read by a person and has no link`)
  const who = `${entry.name} (${driver.id} at ${address})`
  const manners = mannersOf(driver, driver.link, readAddress(address).kind)
  const bounded = { ms: Math.min(wait.ms, driver.link.replyWithinMs), signal: wait.signal }
  const link = await openLink({
    who,
    address,
    manners,
    deps,
    wait: bounded,
    ...(options.first ? { first: options.first } : {}),
    ...(options.hardy ? { hardy: true } : {}),
    ...(options.owed ? { owed: options.owed } : {}),
  })
  try {
    const identity = await identityOf(link, driver, entry, bounded)
    const instrument = new OpenInstrument(link, options, driver.link, identity)
    await instrument.start(wait)
    return instrument
  } catch (error) {
    await link.close()
    throw error
  }
}

class OpenInstrument implements Instrument {
  readonly who: string
  readonly kind: LinkKind
  readonly driver: DriverFile
  readonly identity: string
  readonly simulated: boolean
  readonly #link: Link
  readonly #entry: BenchEntry
  readonly #log: Log
  readonly #errorsAsk: string | null
  readonly #joins: boolean
  readonly #clears: boolean
  readonly #proof: SettingsProof
  /** How often the link had been brought in step when the settings were made. */
  #preparedAt = 0
  readonly #replyWithinMs: number
  #closed: Promise<void> | null = null
  #blindSince = false

  constructor(link: Link, options: InstrumentOptions, manners: DriverLink, identity: string) {
    this.who = link.who
    this.kind = link.kind
    this.driver = options.driver
    this.identity = identity
    this.simulated = isSimulated(readIdentity(identity))
    this.#link = link
    this.#entry = options.entry
    this.#log = options.deps.log
    this.#errorsAsk = manners.errorsAsk
    this.#joins = manners.joins
    this.#clears = manners.clear !== null
    this.#replyWithinMs = manners.replyWithinMs
    this.#proof = settingsProof(options.driver, this)
  }

  ask(text: string, wait: Wait, patienceMs = this.#replyWithinMs): Promise<Reply> {
    return this.#link.ask(text, { ms: Math.min(wait.ms, patienceMs), signal: wait.signal })
  }

  async read(text: string, wait: Wait, patienceMs = this.#replyWithinMs): Promise<Reply> {
    if (this.#proof.blind) for (const message of this.driver.start) await this.tell(message, wait)
    const questions = this.#proof.questions()
    const together = this.#joins && questions.length > 0
    const reply = await this.ask(together ? joined([text, ...questions]) : text, wait, patienceMs)
    const parts = reply.text.split(';')
    if (together && parts.length !== 1 + questions.length) throw this.#unreadable(text, reply.text)
    const [said = '', ...rest] = together ? parts : [reply.text]
    const standing = await this.#judged(questions, together ? rest : await this.#answers(questions, wait))
    if (standing === 'lost') throw settingsLost(this.who)
    return { ...reply, text: said }
  }

  get tells(): boolean {
    return !this.#proof.blind
  }

  async standing(wait: Wait): Promise<Standing> {
    if (this.#proof.blind) return 'unknown'
    const questions = this.#proof.questions()
    return this.#judged(questions, await this.#answers(questions, wait))
  }

  async #answers(questions: readonly string[], wait: Wait): Promise<readonly string[]> {
    const said: string[] = []
    for (const question of questions) said.push((await this.ask(question, wait)).text)
    return said
  }

  /** A clear on the way back in step takes the sign of a power-on with it. */
  #judged(questions: readonly string[], replies: readonly string[]): Standing {
    const stood = this.#proof.stood(replies)
    if (stood === null) throw this.#unreadable(questions.join(' and '), replies.join(' and '))
    const cleared = this.#clears && questions.length > 0 && this.#link.timesInStep() !== this.#preparedAt
    return stood && !cleared ? 'stands' : 'lost'
  }

  async tell(text: string, wait: Wait): Promise<void> {
    if (this.#blindSince) {
      this.#blindSince = false
      await this.#drain(wait)
    }
    await this.#link.tell(text, { ms: Math.min(wait.ms, this.#replyWithinMs), signal: wait.signal })
    const refusal = await this.refusal(text, wait)
    if (refusal) throw refusal
  }

  async refusal(about: string, wait: Wait): Promise<BenchError | null> {
    if (this.#errorsAsk === null) return null
    const { text } = await this.ask(this.#errorsAsk, wait)
    const error = readError(text)
    if (!error) throw this.#unreadable(this.#errorsAsk, text)
    if (error.number === 0) return null
    const more = await this.#drain(wait)
    const refused = [error, ...more].find(isRefusal)
    return refused ? new BenchError('INSTRUMENT_REFUSED', this.who, `answers ${errorWords(refused)} to ${about}`) : null
  }

  async blind(messages: readonly string[]): Promise<void> {
    this.#blindSince = true
    await this.#link.blind(messages)
  }

  doubt(why: string): void {
    this.#link.doubt(why)
  }

  async greet(wait: Wait): Promise<void> {
    const identity = await identityOf(this, this.driver, this.#entry, wait)
    if (identity === this.identity) return
    const happened = `answers as "${identity}"; it was "${this.identity}" before`
    throw new BenchError('DRIVER_WRONG_INSTRUMENT', this.who, happened)
  }

  async prepare(wait: Wait): Promise<void> {
    await this.greet(wait)
    await this.start(wait)
  }

  async start(wait: Wait): Promise<void> {
    await this.#proof.begin(wait)
    this.#preparedAt = this.#link.timesInStep()
    const old = await this.#drain(wait)
    if (old.length > 0) this.#log.info({ who: this.who, errors: old.map(errorWords) }, 'errors of an earlier session')
    for (const message of this.driver.start) await this.tell(message, wait)
    if ((await this.standing(wait)) === 'lost') throw settingsLost(this.who)
  }

  onLost(listener: (fault: BenchError) => void): void {
    this.#link.onLost(listener)
  }

  owed(): Owed | null {
    return this.#link.owed()
  }

  close(): Promise<void> {
    this.#closed ??= this.#stop()
    return this.#closed
  }

  async #stop(): Promise<void> {
    const own = new AbortController()
    for (const message of this.driver.stop)
      await this.#link.tell(message, { ms: STOP_MS, signal: own.signal }).catch((error: unknown) => {
        this.#log.warn({ who: this.who, message, happened: wordsOf(error) }, 'stop message not sent') // closing goes on
      })
    await this.#link.close()
  }

  async #drain(wait: Wait): Promise<readonly QueuedError[]> {
    if (this.#errorsAsk === null) return []
    const drain = drainErrors(this.#errorsAsk)
    let step = drain.next()
    while (!step.done) step = drain.next((await this.ask(step.value, wait)).text)
    const { errors, ended, raw } = step.value
    if (ended === 'unreadable') throw this.#unreadable(this.#errorsAsk, raw)
    if (ended === 'never empty') this.#log.warn({ who: this.who, raw }, 'the error queue never becomes empty')
    return errors
  }

  #unreadable(question: string, reply: string): BenchError {
    this.#link.doubt(`"${reply}" is no answer to ${question}`)
    return new BenchError('DRIVER_REPLY_UNREADABLE', this.who, `"${reply}" is no answer to ${question}`)
  }
}

function settingsLost(who: string): BenchError {
  const happened = 'its settings are not those that it was given: it was switched off and on, reset, or set by hand'
  return new BenchError('INSTRUMENT_SETTING_DIFFERS', who, happened)
}

/** Several questions in one message; each begins at the root of the tree again. */
function joined(questions: readonly string[]): string {
  return questions.map((one, index) => (index === 0 || /^[:*]/.test(one) ? one : `:${one}`)).join(';')
}

/** Power-on, user request, request control and operation complete are news, not refusals. */
function isRefusal(error: QueuedError): boolean {
  return error.number > -500 || error.number < -899
}

function errorWords(error: QueuedError): string {
  const detail = error.detail === '' ? '' : `; ${error.detail}`
  return `${error.number} "${error.text}${detail}"`
}

/** Asks who it is. Throws DRIVER_WRONG_INSTRUMENT when the reply does not look like the driver's or does not hold what the bench file says. */
async function identityOf(
  link: Pick<Link, 'who' | 'ask'>,
  driver: DriverFile,
  entry: BenchEntry,
  wait: Wait,
): Promise<string> {
  if (!driver.identify) return ''
  const { text } = await link.ask(driver.identify.ask, wait)
  const known = driver.identify.differs ? text : text.trim()
  const looksLike = driver.identify.looksLike
  if (!looksLike.some((pattern) => fits(pattern, known))) {
    const happened = `answers as "${text}"; the driver expects ${looksLike.map((pattern) => `"${pattern}"`).join(' or ')}`
    throw new BenchError('DRIVER_WRONG_INSTRUMENT', link.who, happened)
  }
  if (entry.answersAs !== null && !text.toUpperCase().includes(entry.answersAs.toUpperCase())) {
    const happened = `answers as "${text}"; the bench file says that "${entry.answersAs}" stands in it`
    throw new BenchError('DRIVER_WRONG_INSTRUMENT', link.who, happened)
  }
  return driver.identify.differs ? '' : text
}

/** Whether the whole text fits a pattern in which * stands for anything and ? for one character. Walks from star to star, so no text makes it slow. */
function fits(pattern: string, text: string): boolean {
  const [first = '', ...parts] = pattern.toUpperCase().split('*')
  const upper = text.toUpperCase()
  if (!standsAt(first, upper, 0)) return false
  let at = first.length
  for (const [index, part] of parts.entries()) {
    const last = index === parts.length - 1
    const found = last ? upper.length - part.length : placeOf(part, upper, at)
    if (found < at || !standsAt(part, upper, found)) return false
    at = found + part.length
  }
  return at === upper.length
}

function placeOf(part: string, text: string, from: number): number {
  for (let at = from; at + part.length <= text.length; at += 1) if (standsAt(part, text, at)) return at
  return -1
}

function standsAt(part: string, text: string, at: number): boolean {
  for (let index = 0; index < part.length; index += 1)
    if (at + index >= text.length || (part[index] !== '?' && part[index] !== text[at + index])) return false
  return true
}
