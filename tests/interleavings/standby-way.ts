import { countSilence, STANDBY } from '../../src/keeper/rules/silence.ts'
import type { KeeperToStandby } from '../../src/schema/messages/standby-message.ts'
import type { VirtualClock } from '../../src/system/virtual-clock.ts'
import { type Host, lane, NEVER } from './host.ts'

/** What a standby hears on its connection to the keeper. */
export interface StandbyEar {
  word(word: KeeperToStandby): void
  /** The connection has ended. */
  end(): void
}

interface Connection {
  readonly host: Host
  readonly ear: StandbyEar
  readonly toStandby: (arrive: () => void) => void
  open: boolean
}

/** The place where a keeper listens for its standby, with both ends as their processes run them: `listenForStandby` and its like over sockets. */
export class StandbyWay {
  readonly #keeper: Host
  readonly #clock: VirtualClock
  readonly #delayMs: () => number
  readonly #connections = new Set<Connection>()
  readonly #silence
  #identity = ''
  #present = false
  #listening = true
  #ear: (present: boolean) => void = () => {}

  constructor(keeper: Host, clock: VirtualClock, delayMs: () => number) {
    this.#keeper = keeper
    this.#clock = clock
    this.#delayMs = delayMs
    this.#silence = countSilence(clock.nowMs(), 1)
    void this.#work()
    keeper.onDeath(() => this.#close())
  }

  /** The keeper's side: its identity is proved, and told from now on. */
  proved(identity: string): void {
    this.#identity = identity
    for (const one of this.#connections) this.#beat(one)
  }

  /** Tells now and from now on whether a standby is heard. */
  onPresence(listener: (present: boolean) => void): void {
    this.#ear = listener
    listener(this.#present)
  }

  /** The keeper leaves in order. */
  leave(): void {
    for (const one of this.#connections) this.#say(one, { kind: 'leaving' })
    this.#close()
  }

  /** The standby's side: a connection with its beats; null where nobody listens. */
  connect(host: Host, ear: StandbyEar): { beat(): void } | null {
    if (!this.#listening) return null
    const connection: Connection = { host, ear, toStandby: lane(this.#clock, this.#delayMs), open: true }
    const toKeeper = lane(this.#clock, this.#delayMs)
    const intoKeeper = (work: () => void) => toKeeper(() => this.#keeper.run('pipe', work))
    intoKeeper(() => {
      if (!connection.open) return
      this.#connections.add(connection)
      this.#beat(connection)
    })
    host.onDeath(() => intoKeeper(() => this.#drop(connection)))
    return { beat: () => intoKeeper(() => this.#heard()) }
  }

  #heard(): void {
    this.#silence.heard(this.#clock.nowMs())
    if (this.#present) return
    this.#turn(true)
    for (const one of this.#connections) this.#beat(one)
  }

  #turn(now: boolean): void {
    if (now === this.#present) return
    this.#present = now
    this.#ear(now)
  }

  #beat(to: Connection): void {
    this.#say(to, { kind: 'beat', identity: this.#identity, hears: this.#present })
  }

  #say(to: Connection, word: KeeperToStandby): void {
    to.toStandby(() => to.host.run('pipe', () => to.ear.word(word)))
  }

  #drop(connection: Connection): void {
    connection.open = false
    this.#connections.delete(connection)
    if (this.#connections.size === 0) this.#turn(false)
  }

  /** What was said before arrives before the end does. */
  #close(): void {
    this.#listening = false
    for (const one of this.#connections) one.toStandby(() => one.host.run('pipe', () => one.ear.end()))
    this.#connections.clear()
  }

  async #work(): Promise<void> {
    const { clock } = this.#keeper
    for (let ticks = 0; this.#listening; ticks += 1) {
      if (this.#silence.tick(clock.nowMs()) >= STANDBY.silentMs) this.#turn(false)
      if (ticks % BEAT_TICKS === 0) for (const one of this.#connections) this.#beat(one)
      await clock.sleepUntil(clock.nowMs() + STANDBY.tickMs, NEVER)
    }
  }
}

const BEAT_TICKS = STANDBY.beatMs / STANDBY.tickMs
