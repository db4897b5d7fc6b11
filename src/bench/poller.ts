import { BenchError, wordsOf } from '../fault/bench-error.ts'
import { type Meter, type MeterReading, meterOn } from '../instrument/meter.ts'
import { type Instrument, type InstrumentDeps, openInstrument } from '../instrument/open-instrument.ts'
import type { Standing } from '../instrument/settings-proof.ts'
import type { Quantity } from '../quantity/quantity.ts'
import type { BenchEntry } from '../schema/files/bench-file.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'
import { type Signal, SOURCES, type SourceName } from '../schema/files/sources.ts'
import type { Reading } from '../schema/kept/reading.ts'
import { readIdentity } from '../scpi/identity.ts'
import type { Rng } from '../system/rng.ts'
import type { Owed, Wait } from '../transport/link.ts'
import { Turnstile } from '../transport/turnstile.ts'
import { backOffMs } from './back-off.ts'
import { Bell } from './bell.ts'
import type { InstrumentInfo, LinkNews } from './bench.ts'
import type { Epochs } from './epochs.ts'
import { isMiss } from './misses.ts'
import { OwnSources, type SourceState } from './own-sources.ts'
import { Wishes } from './wishes.ts'

/** What one poller looks after, and whom it tells. */
export interface PollerOptions {
  readonly entry: BenchEntry
  readonly driver: DriverFile
  readonly address: string
  /** The quantities that the bench reads here. */
  readonly measures: readonly Quantity[]
  /** What the bench makes here. */
  readonly makes: readonly SourceName[]
  readonly deps: InstrumentDeps & { readonly rng: Rng }
  readonly epochs: Epochs
  /** Refuses a real instrument on a simulated bench and the other way round. Throws BENCH_MIXED. */
  readonly mindKind: (instrument: Instrument) => void
  readonly onReading: (reading: Reading) => void
  readonly onLink: (news: LinkNews) => void
  /** What is known of a generator has changed. */
  readonly onSource: (name: SourceName, state: SourceState) => void
}

/** A link is asked who it is after this much silence: a dead network link tells by itself only when spoken to, ms. */
const HEARTBEAT_MS = 5000
/** The same while it makes something, on a serial line too: a reading of modulation is worth nothing without its tone. A generator always. */
const SOURCE_BEAT_MS = 1000
/** After more silence than this the instrument may have been switched off and on, and is prepared anew before a reading counts, ms. */
const SILENCE_MS = 6000
/** The same where no reading shows whether the settings stand, ms. */
const BLIND_SILENCE_MS = 1500
/** A deadline for each exchange that never is the shorter one: the driver's own is. */
const LONG_MS = 600_000

/** The opened part of a poller: it ends with its link. */
interface Opened {
  readonly instrument: Instrument
  readonly meter: Meter
}

/** Looks after one instrument: reads what is wanted, minds its link, comes back by itself after a loss. Errors are told as link news. */
export class Poller {
  readonly #options: PollerOptions
  readonly #end = new AbortController()
  readonly #bell = new Bell()
  readonly #turnstile = new Turnstile()
  readonly #wishes: Wishes
  #opened: Opened | null = null
  /** The old link on its way to its end: a port is opened again only when it is closed. */
  #closing: Promise<void> = Promise.resolve()
  /** Replies that the old link still had to come. */
  #owed: Owed | null = null
  #fault: BenchError | null = null
  #identity = ''
  #simulated: boolean
  readonly #sources: OwnSources
  #spokeMs = 0
  /** The last sign of life that was asked for, bench ms. */
  #signedMs = 0
  /** A box whose function was just changed gives no reading that counts before this, bench ms. */
  #standsFromMs = Number.NEGATIVE_INFINITY
  #doubtful = false
  /** The instrument has lost its settings, or its link was lost: it may look for its range anew, so what it says first counts for nothing. */
  #afresh = false
  #tries = 0
  #running: Promise<void> | null = null

  constructor(options: PollerOptions) {
    this.#options = options
    this.#simulated = options.entry.at === 'simulated'
    const rows = options.driver.readings.filter((row) => options.measures.includes(row.quantity))
    this.#wishes = new Wishes(rows, options.driver.functions)
    this.#sources = new OwnSources(options.makes, options.onSource)
  }

  /** Begins to look after the instrument, until `close`. Resolves when the first try to reach it has ended: with its fault, or null. */
  start(): Promise<BenchError | null> {
    const first = this.#tryFirst()
    this.#running = first.then(() => this.#run())
    return first
  }

  info(): InstrumentInfo {
    const { entry, driver, address } = this.#options
    return {
      name: entry.name,
      driver: driver.id,
      address,
      identity: this.#identity,
      simulated: this.#simulated,
      up: this.#opened !== null,
      calibrationDue: entry.calibrationDue,
      certificate: entry.certificate,
      serial: readIdentity(this.#identity).serial,
      typed: false,
    }
  }

  get name(): string {
    return this.#options.entry.name
  }

  /** Several instruments, one at a time. */
  get isBox(): boolean {
    return this.#options.driver.functions.length > 0
  }

  /** What it makes, and what is known of it. */
  get sources(): Pick<OwnSources, 'names' | 'state'> {
    return this.#sources
  }

  /** Why the instrument is not up; null when it is. */
  get fault(): BenchError | null {
    return this.#fault
  }

  watch(wanted: readonly Quantity[]): void {
    this.#wishes.want(wanted)
    this.#bell.ring()
  }

  /** Something was changed on the bench at `atMs`: a box of several instruments looks once at something else that is wanted. */
  changed(atMs: number, cause: string): void {
    this.#wishes.changed(atMs, cause !== 'key')
    if (this.#options.driver.functions.length > 0) this.#bell.ring()
  }

  /**
   * Sets a signal (null: off) and keeps it over a loss of the link, one that is guarded excepted. `may` is asked when its turn has come, and throws
   * where it must not be set. Throws the fault of a link that is down, and what the source throws.
   */
  async setSource(name: SourceName, signal: Signal | null, abort: AbortSignal, may?: () => void): Promise<void> {
    this.#sources.forget(name)
    this.#up()
    const set = () => {
      this.#up()
      return this.#sources.set(name, signal, { ms: LONG_MS, signal: abort }, may)
    }
    await this.#turnstile.pass(set, abort)
    this.#spoke()
    this.#bell.ring() // its next sign of life is due sooner
  }

  /** Ends the polling and closes the link, stop messages first. Idempotent, never rejects. */
  async close(): Promise<void> {
    this.#end.abort(CLOSED)
    const opened = this.#opened
    this.#opened = null
    await this.#running?.catch((error: unknown) => this.#log('poller ended with', error))
    await opened?.instrument.close()
    await this.#closing
  }

  #up(): Opened {
    const { entry, driver, address } = this.#options
    if (this.#opened) return this.#opened
    throw (
      this.#fault ??
      new BenchError('TRANSPORT_CLOSED', `${entry.name} (${driver.id} at ${address})`, 'the bench is closed')
    )
  }

  async #tryFirst(): Promise<BenchError | null> {
    try {
      await this.#connect()
      this.#tellUp()
      return null
    } catch (error) {
      if (this.#end.signal.aborted) return null
      if (!(error instanceof BenchError)) throw error
      this.#missed(error)
      return error
    }
  }

  async #run(): Promise<void> {
    while (!this.#end.signal.aborted) {
      try {
        if (this.#opened) await this.#turn(this.#opened)
        else await this.#comeBack()
      } catch (error) {
        if (this.#end.signal.aborted) return
        if (!(error instanceof BenchError)) throw error
        this.#missed(error)
      }
    }
  }

  /** One thing to do on an open link: a reading that is due, a sign of life, or nothing until something is wanted. */
  async #turn(opened: Opened): Promise<void> {
    const { clock } = this.#options.deps
    const due = this.#wishes.next(opened.meter.standsIn())
    const here = due?.function === opened.meter.standsIn()
    const beatMs = this.#nextBeatMs(opened)
    const dueMs = due ? Math.max(due.atMs, here ? this.#standsFromMs : due.atMs) : null
    const beats = dueMs === null || (this.#sources.guarded && beatMs !== null && beatMs <= dueMs)
    const atMs = beats ? beatMs : dueMs
    if (atMs === null || atMs > clock.nowMs()) return this.#bell.waitUntil(atMs, clock, this.#end.signal)
    const read = (quantity: Quantity) => (here ? this.#read(opened, quantity) : this.#select(opened, quantity))
    const act = due && !beats ? () => read(due.quantity) : () => this.#beat(opened)
    await this.#turnstile.pass(act, this.#end.signal)
  }

  /** Puts a box of several instruments in another function; the time that this takes is waited for outside the queue of the link. */
  async #select(opened: Opened, quantity: Quantity): Promise<void> {
    if (this.#opened !== opened) return // lost while it stood in the queue
    await this.#ready(opened)
    const takesMs = await opened.meter.select(quantity, this.#wait())
    this.#spoke()
    this.#standsFromMs = this.#options.deps.clock.nowMs() + takesMs
  }

  async #read(opened: Opened, quantity: Quantity): Promise<void> {
    const { clock } = this.#options.deps
    if (this.#opened !== opened) return // lost while it stood in the queue
    this.#wishes.asked(quantity, clock.nowMs())
    const anew = await this.#ready(opened)
    if (anew && this.#options.driver.functions.length > 0) return // where the box stands is not known any more
    const epoch = this.#options.epochs.current
    const reading = await opened.meter.read(quantity, this.#wait())
    if (this.#opened !== opened) return // lost, or closed, in the moment that the reply came
    this.#spoke()
    this.#tries = 0
    if (this.#afresh) {
      this.#afresh = false
      return
    }
    if (reading.state === 'good') this.#wishes.seen(quantity)
    this.#options.onReading(this.#stamped(quantity, reading, epoch))
  }

  /** Prepares the instrument anew where it was silent for long or missed a question, and tells so. */
  async #ready(opened: Opened): Promise<boolean> {
    const silentMs = this.#options.deps.clock.nowMs() - this.#spokeMs
    const mostMs = opened.instrument.tells ? SILENCE_MS : BLIND_SILENCE_MS
    if (!this.#doubtful && silentMs <= mostMs) return false
    await this.#prepare(opened)
    return true
  }

  #stamped(quantity: Quantity, reading: MeterReading, atLeast: number): Reading {
    const epoch = this.#options.epochs.at(reading.beganMs, atLeast)
    const { name, role } = this.#options.entry
    return { quantity, instrument: name, ...(role === null ? {} : { role }), epoch, ...reading }
  }

  async #beat(opened: Opened): Promise<void> {
    if (this.#opened !== opened) return
    this.#signedMs = this.#options.deps.clock.nowMs()
    if (this.#doubtful) await this.#prepare(opened, 'unknown')
    else await this.#sign(opened)
    this.#spoke()
    this.#tries = 0
  }

  /** Who it is, and whether its settings stand. A signal that was lost takes the link down, so that whoever measures by it is told. */
  async #sign(opened: Opened): Promise<void> {
    const { instrument } = opened
    await instrument.greet(this.#wait())
    const standing = await instrument.standing(this.#wait())
    const made = this.#sources.makes
    if (made === null && standing !== 'stands') return this.#prepare(opened, standing)
    const gone = made !== null && standing === 'lost' ? made : await this.#sources.gone(this.#wait())
    if (gone === null) return
    const happened = `it does not make the ${SOURCES[gone].word} any more that it was set to: it was switched off and on, or set by hand`
    this.#lose(opened, new BenchError('INSTRUMENT_SETTING_DIFFERS', instrument.who, happened))
  }

  /** The start messages again; where the settings had not stood, what it says first counts for nothing. */
  async #prepare(opened: Opened, standing?: Standing): Promise<void> {
    const { instrument } = opened
    opened.meter.forget()
    if ((standing ?? (await instrument.standing(this.#wait()))) !== 'stands') this.#afresh = true
    await instrument.prepare(this.#wait())
    const gone = await this.#sources.afterStart(this.#wait()) // the start messages switch all off
    this.#doubtful = false
    this.#spoke()
    if (gone === null) return
    const happened = `its ${SOURCES[gone].word} is off: it missed a question and was set up anew, and nothing puts it on again by itself`
    const fault = new BenchError('INSTRUMENT_SETTING_DIFFERS', instrument.who, happened)
    this.#lose(opened, fault)
    throw fault
  }

  #spoke(): void {
    this.#spokeMs = this.#options.deps.clock.nowMs()
  }

  #wait(): Wait {
    return { ms: LONG_MS, signal: this.#end.signal }
  }

  /** Network links are asked for a sign of life, at once after a missed reply; a serial line is prepared anew after silence instead. */
  #nextBeatMs(opened: Opened): number | null {
    if (this.#sources.guarded) return this.#signedMs + (this.#doubtful ? 0 : SOURCE_BEAT_MS)
    if (this.#sources.watched) return this.#spokeMs + (this.#doubtful ? 0 : SOURCE_BEAT_MS)
    if (this.#options.driver.identify === null || !opened.instrument.kind.beats) return null
    return this.#spokeMs + (this.#doubtful ? 0 : HEARTBEAT_MS)
  }

  async #comeBack(): Promise<void> {
    const { clock, rng } = this.#options.deps
    await clock.sleepUntil(clock.nowMs() + backOffMs(this.#tries++, rng), this.#end.signal)
    await this.#closing
    await this.#connect()
    this.#tellUp()
  }

  #tellUp(): void {
    this.#fault = null
    this.#options.onLink({ instrument: this.#options.entry.name, up: true, fault: null })
  }

  async #connect(): Promise<void> {
    const { entry, driver, address, deps } = this.#options
    const owed = this.#owed ? { owed: this.#owed } : {}
    const instrument = await openInstrument({ entry, driver, address, deps, wait: this.#wait(), ...owed })
    try {
      this.#options.mindKind(instrument)
      this.#mindIdentity(instrument)
      await this.#sources.begin(instrument, deps.clock, this.#wait())
      const opened = { instrument, meter: meterOn(instrument) }
      instrument.onLost((fault) => this.#lose(opened, fault))
      this.#identity = instrument.identity
      this.#simulated = instrument.simulated
      this.#doubtful = false
      this.#owed = null
      this.#opened = opened
      this.#spoke()
    } catch (error) {
      await instrument.close()
      throw error
    }
  }

  /** An address may belong to another box by now; a reading of that one must not pass for this one's. */
  #mindIdentity(instrument: Instrument): void {
    if (this.#identity === '' || instrument.identity === this.#identity) return
    const happened = `answers as "${instrument.identity}"; it was "${this.#identity}" before`
    throw new BenchError('DRIVER_WRONG_INSTRUMENT', instrument.who, happened)
  }

  /** A single missed or garbled reply is the link's own business; what the instrument itself refuses takes it down. */
  #missed(error: BenchError): void {
    this.#log('no reading', error)
    const opened = this.#opened
    this.#doubtful = true
    this.#sources.missed()
    if (error.code === 'INSTRUMENT_SETTING_DIFFERS') this.#afresh = true
    this.#spoke()
    if (!opened) this.#stillDown(error)
    else if (!isMiss(error)) this.#lose(opened, error)
    else this.#options.onLink({ instrument: this.#options.entry.name, up: true, fault: error, missed: true })
  }

  /** Told again when the reason is another one: somebody plugged in the wrong box. */
  #stillDown(fault: BenchError): void {
    const before = this.#fault
    this.#fault = fault
    if (before?.code !== fault.code) this.#options.onLink({ instrument: this.#options.entry.name, up: false, fault })
  }

  #lose(opened: Opened, fault: BenchError): void {
    if (this.#opened !== opened) return
    this.#opened = null
    this.#sources.lost()
    this.#afresh = true
    this.#fault = fault
    this.#bell.ring()
    this.#owed = opened.instrument.owed()
    this.#closing = opened.instrument.close()
    if (!this.#end.signal.aborted) this.#options.onLink({ instrument: this.#options.entry.name, up: false, fault })
  }

  #log(words: string, error: unknown): void {
    this.#options.deps.log.info({ who: this.#options.entry.name, happened: wordsOf(error) }, words)
  }
}

const CLOSED = new Error('the bench is closed')
