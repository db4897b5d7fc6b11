import { BenchError, wordsOf } from '../../fault/bench-error.ts'
import type { FromKeeper, KeeperStart, SupplyState, ToKeeper } from '../../schema/messages/keeper-message.ts'
import type { Clock } from '../../system/clock.ts'
import { deadline, within } from '../../system/deadline.ts'
import type { Log } from '../../system/log.ts'
import { said, type Words } from '../../words/said/said.ts'
import { sentence, worded } from '../../words/sentence/sentence.ts'
import { newSocket, openRunFolder, usualRunFolder } from '../line/run-folder.ts'
import { seconds } from '../rules/seconds.ts'
import { countSilence, realFactor, type Silence, STANDBY } from '../rules/silence.ts'
import { guardStandby, type StandbyGuard, type Swept } from '../standby/standby-guard.ts'
import { deadWish } from './dead-wish.ts'
import { faultCodeOf } from './fault-code.ts'
import { type KeeperPipe, spawnKeeper, spawnStandby } from './keeper-pipe.ts'
import { overBench } from './over-bench.ts'
import type { Supply, SupplyLimits, Wish } from './supply.ts'
import { unknownSupply } from './unknown-supply.ts'

/** What the service's side works with; the ceiling is the bench file's, and is checked here as well as in the keeper. */
export interface ClientNeeds {
  readonly who: string
  readonly ceilingVolts: number
  readonly ceilingAmps: number
  /** Clock seconds per real second: a process takes real time to start, whatever the clock says. */
  readonly times: number
  readonly clock: Clock
  readonly log: Log
}

const BEAT_MS = 1000
const TICK_MS = 200
const OPEN_MS = 20_000
/** No order takes longer: 15 V up at 1 V/s, half a minute of waiting for the key. */
const ANSWER_MS = 90_000
const CLOSE_MS = 6000
const LONGEST_WHY = 200

const inShort = (why: Words): Words => (typeof why === 'string' ? why.slice(0, LONGEST_WHY) : why)
const OPENING = 0 // the request that is the opening of the supply's link itself

/**
 * Starts a keeper process for the supply and speaks to it. Throws what kept the keeper from opening the supply (TRANSPORT_…,
 * DRIVER_WRONG_INSTRUMENT), KEEPER_GONE, or `signal.reason` untouched. `signal` is for the opening only.
 */
export async function openKeeper(about: {
  readonly start: KeeperStart
  readonly deps: { readonly clock: Clock; readonly log: Log }
  readonly signal: AbortSignal
}): Promise<KeeperClient> {
  const { start, deps, signal } = about
  signal.throwIfAborted()
  const { who, ceilingVolts, ceilingAmps, pace } = start
  const guarded = { ...start, socket: newSocket(openRunFolder(start.runFolder ?? usualRunFolder())) }
  const pipe = spawnKeeper(guarded, deps.log)
  const keeperPid = pipe.pid
  const factor = realFactor(pace.times)
  const held: { client: KeeperClient | null } = { client: null }
  const guard: StandbyGuard | null =
    keeperPid === undefined
      ? null
      : guardStandby({
          ...deps,
          factor,
          identity: () => held.client?.identity ?? '',
          start: (one) => spawnStandby(guarded, { keeperPid, ...one }, deps.log),
        })
  const client = new KeeperClient(pipe, { ...deps, who, ceilingVolts, ceilingAmps, times: pace.times }, guard)
  held.client = client
  try {
    await client.open(signal)
  } catch (error) {
    await guard?.close()
    throw error
  }
  // Without a standby nothing goes up: whoever gets this supply is to be able to use it.
  if (guard) await within(deps.clock, STANDBY_START_MS * factor, guard.there, () => {})
  return client
}

const STANDBY_START_MS = 5000

type Asked = Exclude<ToKeeper, { verb: 'beat' }>
/** A request without its number. */
type Request = Asked extends infer One ? (One extends Asked ? Omit<One, 'id'> : never) : never

interface Waiter {
  readonly verb: string
  readonly dueMs: number
  readonly resolve: (state: SupplyState) => void
  readonly reject: (reason: Error) => void
}

/** The service's end of a keeper's pipe: numbers requests, beats each second, rejects everybody who waits when the keeper is gone. */
export class KeeperClient implements Supply {
  identity = ''
  simulated = false
  /** The keeper's process; 0 while it has not said, and for a keeper in this process. */
  pid = 0
  readonly #pipe: KeeperPipe
  readonly #needs: ClientNeeds
  /** Makes the supply safe without this keeper; null where nobody can. */
  readonly #guard: Pick<StandbyGuard, 'sweep' | 'close'> | null
  readonly #waiters = new Map<number, Waiter>()
  readonly #stateEars = new Set<(state: SupplyState) => void>()
  readonly #actedEars = new Set<(acted: Extract<FromKeeper, { kind: 'acted' }>) => void>()
  readonly #goneEars = new Set<(reason: Error) => void>()
  readonly #over = new AbortController()
  #lastId = OPENING
  #latest: SupplyState | null = null
  #limits: SupplyLimits | null = null
  /** The newest wish, and the newest that has ended: all up to it are dead. */
  #newestWish = 0
  #deadWish = 0
  #opened: { readonly resolve: () => void; readonly reject: (reason: Error) => void } | null = null
  #gone: BenchError | null = null
  #closing: Promise<void> | null = null
  #sweeping: Promise<void> = Promise.resolve()
  readonly #silence: Silence
  #sweptProved: boolean | null = null

  constructor(pipe: KeeperPipe, needs: ClientNeeds, guard: Pick<StandbyGuard, 'sweep' | 'close'> | null) {
    this.#pipe = pipe
    this.#needs = needs
    this.#guard = guard
    this.#silence = countSilence(needs.clock.nowMs(), realFactor(needs.times))
  }

  /** Resolves when the keeper holds the supply and has read it once. */
  async open(signal: AbortSignal): Promise<this> {
    const { clock, who, times } = this.#needs
    const up = new Promise<void>((resolve, reject) => {
      this.#opened = { resolve, reject }
    })
    this.#pipe.listen({ message: (message) => this.#hear(message), gone: (how) => this.#lose(how) })
    this.#beat().catch(() => {}) // ends when the keeper is gone or closed
    const off = () => this.#opened?.reject(signal.reason)
    signal.addEventListener('abort', off, { once: true })
    const tooLate = () =>
      this.#opened?.reject(
        new BenchError('KEEPER_GONE', who, said('keeper.too-slow-start', { time: `${OPEN_MS / 1000} s` })),
      )
    const inTime = deadline(clock, OPEN_MS * Math.max(1, times), tooLate)
    try {
      await up
      return this
    } catch (error) {
      this.#leave(new BenchError('KEEPER_GONE', who, said('keeper.not-opened')))
      this.#pipe.end()
      // Who gives up early must not take away what the keeper still makes safe.
      if (signal.aborted)
        await this.#withinMs(CLOSE_MS * Math.max(1, times), this.#pipe.gone).catch((late) =>
          this.#needs.log.error({ who }, wordsOf(late)),
        )
      throw error
    } finally {
      this.#opened = null
      inTime()
      signal.removeEventListener('abort', off)
    }
  }

  latest(): SupplyState {
    if (this.#latest === null) throw new TypeError('a supply is handed out after its first look')
    return this.#latest
  }

  wish(): Wish {
    this.#endWishes()
    this.#newestWish += 1
    const id = this.#newestWish
    const client = this
    return {
      get live() {
        return client.#lives(id)
      },
      limits: (limits) => this.#setLimits(id, limits),
      set: (volts, amps) => this.#set(id, volts, amps),
      on: () => this.#wanted(id, { verb: 'on', wish: id }),
    }
  }

  #lives(wish: number): boolean {
    return wish > this.#deadWish && this.#gone === null
  }

  #endWishes(): void {
    this.#deadWish = this.#newestWish
  }

  async #wanted(wish: number, request: Request): Promise<SupplyState> {
    if (this.#gone) throw this.#gone
    if (!this.#lives(wish)) throw deadWish(this.#needs.who)
    return this.#ask(request)
  }

  async #setLimits(wish: number, limits: SupplyLimits): Promise<SupplyState> {
    const against = overBench(limits, this.#needs)
    if (against !== null) throw this.#refusal(against)
    const { tripVolts, normalVolts, receiveAmps, keyedAboveAmps } = limits
    const own: SupplyLimits = {
      ceilingVolts: limits.ceilingVolts,
      ceilingAmps: limits.ceilingAmps,
      tripVolts,
      normalVolts,
      receiveAmps,
      keyedAboveAmps,
    }
    const state = await this.#wanted(wish, { verb: 'limits', wish, ...own })
    this.#limits = own
    return state
  }

  async #set(wish: number, volts: number, amps: number): Promise<SupplyState> {
    const ceilingVolts = Math.min(this.#needs.ceilingVolts, this.#limits?.ceilingVolts ?? Number.POSITIVE_INFINITY)
    const ceilingAmps = Math.min(this.#needs.ceilingAmps, this.#limits?.ceilingAmps ?? Number.POSITIVE_INFINITY)
    if (!(volts <= ceilingVolts))
      throw this.#refusal(said('keeper.above-ceiling', { volts: `${volts} V`, ceiling: `${ceilingVolts} V` }))
    if (!(amps <= ceilingAmps))
      throw this.#refusal(said('keeper.limit-above-ceiling', { amps: `${amps} A`, ceiling: `${ceilingAmps} A` }))
    return this.#wanted(wish, { verb: 'set', wish, volts, amps })
  }

  normal(why: Words): Promise<SupplyState> {
    this.#endWishes()
    return this.#ask({ verb: 'normal', upTo: this.#newestWish, why: inShort(why) })
  }

  safe(why: Words): Promise<SupplyState> {
    this.#endWishes()
    return this.#ask({ verb: 'off', upTo: this.#newestWish, why: inShort(why) })
  }

  onState(listener: (state: SupplyState) => void): () => void {
    this.#stateEars.add(listener)
    return () => this.#stateEars.delete(listener)
  }

  onActed(listener: (acted: Extract<FromKeeper, { kind: 'acted' }>) => void): () => void {
    this.#actedEars.add(listener)
    return () => this.#actedEars.delete(listener)
  }

  onGone(listener: (reason: Error) => void): () => void {
    this.#goneEars.add(listener)
    const gone = this.#gone
    if (gone && !this.#closing) queueMicrotask(() => listener(gone))
    return () => this.#goneEars.delete(listener)
  }

  close(): Promise<void> {
    this.#closing ??= this.#end()
    return this.#closing
  }

  async #end(): Promise<void> {
    const { who, log, times } = this.#needs
    if (!this.#gone) {
      const ms = CLOSE_MS * Math.max(1, times)
      await this.#withinMs(ms, this.safe(said('keeper.being-closed'))).catch((error) =>
        log.error({ who }, wordsOf(error)),
      )
      this.#pipe.end()
      await this.#withinMs(ms, this.#pipe.gone).catch((error) => log.error({ who }, wordsOf(error)))
      this.#leave(new BenchError('KEEPER_GONE', who, said('keeper.closed')))
    }
    await this.#withinMs(CLOSE_MS * Math.max(1, times), this.#sweeping).catch((error) =>
      log.error({ who }, wordsOf(error)),
    )
    await this.#guard?.close()
  }

  #withinMs<T>(ms: number, work: Promise<T>): Promise<T> {
    const { clock, who } = this.#needs
    return within(clock, ms, work, () => {
      throw new BenchError('KEEPER_NOT_SAFE', who, said('keeper.still-at-it', { time: `${ms / 1000} s` }))
    })
  }

  #refusal = (happened: Words): BenchError => new BenchError('KEEPER_REFUSED', this.#needs.who, happened)

  #ask(request: Request): Promise<SupplyState> {
    return new Promise((resolve, reject) => {
      if (this.#gone) return reject(this.#gone)
      const id = ++this.#lastId
      this.#waiters.set(id, { verb: request.verb, dueMs: this.#needs.clock.nowMs() + ANSWER_MS, resolve, reject })
      this.#pipe.say({ ...request, id })
    })
  }

  #hear(message: FromKeeper): void {
    this.#silence.heard(this.#needs.clock.nowMs())
    switch (message.kind) {
      case 'hello':
        this.identity = message.identity
        this.simulated = message.simulated
        this.pid = message.pid
        break
      case 'state':
        this.#now(message.state)
        if (this.identity !== '') this.#opened?.resolve()
        break
      case 'done':
        this.#latest = message.state
        this.#take(message.id)?.resolve(message.state)
        break
      case 'refused': {
        const fault = new BenchError(faultCodeOf(message.code), this.#needs.who, message.words)
        if (message.id === OPENING) this.#opened?.reject(fault)
        else this.#take(message.id)?.reject(fault)
        break
      }
      case 'acted':
        this.#endWishes()
        this.#needs.log[this.#closing ? 'info' : 'warn']({ ...worded(message) }, 'the keeper acted by itself')
        for (const ear of this.#actedEars) ear(message)
        break
      default:
        message satisfies never
    }
  }

  #now(state: SupplyState): void {
    this.#latest = state
    for (const ear of this.#stateEars) ear(state)
  }

  #take(id: number): Waiter | undefined {
    const waiter = this.#waiters.get(id)
    this.#waiters.delete(id)
    return waiter
  }

  async #beat(): Promise<void> {
    const { clock, who, times } = this.#needs
    let beatDueMs = clock.nowMs()
    for (;;) {
      if (clock.nowMs() >= beatDueMs) {
        this.#pipe.say({ verb: 'beat' })
        beatDueMs = clock.nowMs() + BEAT_MS
      }
      for (const [id, { verb, dueMs }] of this.#waiters) {
        if (clock.nowMs() < dueMs) continue
        this.#take(id)?.reject(
          new BenchError('KEEPER_GONE', who, said('keeper.no-reply', { order: verb, time: `${ANSWER_MS / 1000} s` })),
        )
      }
      const silentMs = this.#silence.tick(clock.nowMs()) / Math.max(1, times)
      if (this.#latest !== null && silentMs >= STANDBY.silentMs) {
        this.#pipe.kill()
        this.#lose(said('keeper.silent-and-ended', { time: seconds(silentMs) }))
      }
      await clock.sleepUntil(clock.nowMs() + TICK_MS, this.#over.signal)
    }
  }

  /** Nobody guards the supply any more: everybody who waits is told, and a second keeper switches it off. */
  #lose(how: Words): void {
    if (this.#gone || this.#over.signal.aborted) return
    const { who, log } = this.#needs
    if (this.#closing) {
      this.#leave(new BenchError('KEEPER_GONE', who, said('keeper.closed')))
      return
    }
    const fault = new BenchError('KEEPER_GONE', who, said('keeper.gone-output-unknown', { how }))
    this.#opened?.reject(fault)
    this.#leave(fault)
    log.error({ who }, fault.message)
    this.#now(unknownSupply(this.#needs.clock.nowMs()))
    if (this.#guard && this.identity !== '')
      this.#sweeping = this.#guard.sweep(how, (news) => this.#swept(news)).then((swept) => this.#swept(swept))
    for (const ear of this.#goneEars) ear(fault)
  }

  /** Told once each time it changes. */
  #swept({ proved, words }: Swept): void {
    const why = proved ? words : said('keeper.off-not-proved', { why: words })
    if (proved === this.#sweptProved) return
    this.#sweptProved = proved
    const found = unknownSupply(this.#needs.clock.nowMs())
    this.#now(proved ? { ...found, output: 'off' } : found)
    const { who, log, clock } = this.#needs
    log[proved ? 'warn' : 'error']({ who, proved }, sentence(why))
    for (const ear of this.#actedEars) ear({ kind: 'acted', resting: 'safe', why, proved, atMs: clock.nowMs() })
  }

  #leave(fault: BenchError): void {
    this.#gone ??= fault
    this.#over.abort(fault)
    for (const { reject } of this.#waiters.values()) reject(fault)
    this.#waiters.clear()
  }
}
