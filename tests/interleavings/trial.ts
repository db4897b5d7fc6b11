import type { FromStandby, StandbyStart } from '../../src/schema/messages/standby-message.ts'
import { type Rng, seededRng } from '../../src/system/rng.ts'
import { type VirtualClock, virtualClock } from '../../src/system/virtual-clock.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { type Event, eventsOf, inWords, type Odds, oneOf, PACES, type ProcessName } from './events.ts'
import { Host, lane, NEVER } from './host.ts'
import { startKeeper } from './keeper-host.ts'
import { SupplyLease } from './lease.ts'
import { isHigh, Oracle, type Violation } from './oracle.ts'
import { openServiceIn, type Service, slowJournal } from './service-host.ts'
import { startStandby } from './standby-host.ts'
import { StandbyWay } from './standby-way.ts'
import type { WireFault } from './wire.ts'
import { openWorld, type Truth, type World } from './world.ts'

/** One run: all chance comes from the seed, so that the same events meet the same delays. */
export interface Trial {
  readonly seed: number
  readonly events: readonly Event[]
}

export interface Outcome {
  readonly violations: readonly Violation[]
  /** What happened and what the supply did, a line each. */
  readonly trace: readonly string[]
  /** How long it was on its own clock, ms. */
  readonly benchMs: number
}

/** What there is to freeze and to kill on this bench. */
export const ODDS: Odds = { processes: ['service', 'keeper', 'standby'] }

/** The trial of a seed. */
export function trialOf(seed: number): Trial {
  return { seed, events: eventsOf(seededRng(seed ^ 0x5eed), ODDS) }
}

/** A whole bench in one process, on a clock that jumps: what happens in it and which rules it breaks. */
export async function runTrial(trial: Trial): Promise<Outcome> {
  const clock = virtualClock()
  const run = new Run(trial, clock)
  try {
    await clock.runUntil(run.play())
  } catch (error) {
    run.oracle.violate('does not end', error instanceof Error ? error.message : String(error))
  }
  return { violations: run.oracle.violations, trace: run.trace, benchMs: clock.nowMs() }
}

const LOOK_MS = 50
/** After the last event: every bound of a rule has passed. */
const TAIL_MS = 4200
const OPEN_MS = 10_000
const CLOSE_MS = 45_000
/** What is closed may sleep out a pause, but no longer than this. */
const FADE_MS = 2500
/** What a link fault may add to a bound, ms. */
const GARBLE_EXTRA_MS = 1500
const LATE_SHARE = 3

/** One line for a whole ramp. */
const RAMP = ', and step by step to '

class Run {
  readonly trace: string[] = []
  readonly oracle: Oracle
  readonly #trial: Trial
  readonly #clock: VirtualClock
  readonly #rng: Rng
  readonly #world: World
  readonly #service: Host
  readonly #keeper: Host
  /** The newest is the one that watches, or takes the place of the one that does. */
  readonly #standbys: Host[] = []
  readonly #toService: (arrive: () => void) => void
  readonly #journal
  #opened: Service | null = null
  #shown = true
  #startMs = 0
  #journalMs = 0
  #over = false
  #ramping = false
  readonly #link = { generation: 0 }

  constructor(trial: Trial, clock: VirtualClock) {
    this.#trial = trial
    this.#clock = clock
    this.#rng = seededRng(trial.seed)
    const own = () => seededRng(Math.floor(this.#rng() * 2 ** 32))
    this.#world = openWorld({ clock, rng: own(), changed: (before, after) => this.#changed(before, after) })
    this.#service = new Host('service', clock, own())
    this.#keeper = new Host('keeper', clock, own())
    this.#toService = lane(clock, this.#delays(own()))
    this.#journal = slowJournal(this.#service, clock, () => this.#journalMs)
    this.oracle = new Oracle({
      nowMs: clock.nowMs,
      truth: () => this.#world.truth(),
      job: () => this.#opened?.session.job() ?? null,
      service: this.#service,
      keeper: this.#keeper,
      standbys: this.#standbys,
    })
  }

  async play(): Promise<void> {
    await this.#open()
    this.#startMs = this.#clock.nowMs()
    void this.#keepLooking()
    for (const event of this.#trial.events) {
      await this.#clock.sleepUntil(this.#startMs + event.atMs, NEVER)
      this.trace.push(inWords(event))
      this.#happen(event)
      this.oracle.look()
    }
    await this.#sleep(TAIL_MS)
    await this.#end()
    this.#over = true
  }

  /** How long messages of one way are under way: about the pace of this run, now and then ten times as long. */
  #delays(rng: Rng): () => number {
    const mostMs = oneOf(rng, PACES)
    return () => (rng() < 0.05 ? mostMs : (mostMs / 4) * rng())
  }

  async #open(): Promise<void> {
    const rng = () => seededRng(Math.floor(this.#rng() * 2 ** 32))
    const delays = () => this.#delays(rng())
    const common = {
      world: this.#world,
      clock: this.#clock,
      service: this.#service,
      lease: new SupplyLease(),
      way: new StandbyWay(this.#keeper, this.#clock, delays()),
    }
    const pipe = startKeeper({
      ...common,
      host: this.#keeper,
      said: (message) => this.oracle.said(message),
      noted: (note) => this.oracle.noted(note, this.#keeper),
      toKeeperMs: delays(),
      toServiceMs: delays(),
    })
    const nextStandby = (start: Pick<StandbyStart, 'begin' | 'identity'>) => {
      const host = new Host(`standby ${this.#standbys.length + 1}`, this.#clock, rng())
      this.#standbys.push(host)
      return startStandby({
        ...common,
        ...start,
        host,
        keeper: this.#keeper,
        startsMs: 150 + 450 * this.#rng(),
        delayMs: delays(),
        said: (word) => this.#standbySaid(word, host),
        noted: (note) => this.oracle.noted(note, host),
      })
    }
    const opening = new Promise<Service>((resolve, reject) =>
      this.#service.run('pipe', () =>
        openServiceIn({
          host: this.#service,
          world: this.#world,
          pipe,
          startStandby: nextStandby,
          recorder: this.#journal.recorder,
          seed: this.#trial.seed,
        }).then(resolve, reject),
      ),
    )
    this.#opened = await within(this.#clock, OPEN_MS, opening, 'the bench did not open')
    this.#opened.session.onFrame((frame) => {
      const onDisk = this.#journal.entries.filter((entry) => entry.kind === 'captured').length
      this.oracle.captured(frame.captured.length, onDisk)
    })
  }

  #standbySaid(word: FromStandby, host: Host): void {
    if (word.kind === 'taking over') this.#tell(`the ${host.name} takes over: ${sentence(word.why)}`)
    this.oracle.saidByStandby(word, host)
  }

  async #keepLooking(): Promise<void> {
    while (!this.#over) {
      await this.#sleep(LOOK_MS)
      this.oracle.look()
    }
  }

  #happen(event: Event): void {
    switch (event.what) {
      case 'press':
        this.#press()
        break
      case 'stop':
        this.#request({ kind: 'stop' }, () => this.oracle.stopped())
        break
      case 'open':
        if (this.#shown) this.#request({ kind: 'open step', step: event.step })
        break
      case 'hide':
      case 'show':
        this.#steer(event.what === 'show')
        break
      case 'key':
        this.#world.set.key(event.down)
        break
      case 'channel':
        this.#world.set.channel(event.channel)
        break
      case 'freeze':
        this.#freeze(event.who, event.ms)
        break
      case 'kill':
        this.#kill(event.who)
        break
      case 'link':
        this.#suffer(event.fault, event.ms)
        break
      case 'meter':
        this.#loseMeter(event.name, event.ms)
        break
      case 'slow oscillator':
        this.#world.wires.oscillator.suffer({ kind: 'late', ms: event.ms })
        break
      case 'slow journal':
        this.#journalMs = event.ms
        break
      default:
        event satisfies never
    }
  }

  /** What the page offers to go on with, as it stands when the foot comes down. */
  #press(): void {
    const session = this.#opened?.session
    if (!this.#shown || !session) return
    const { offers } = session.latest()
    const kind = (['ready', 'confirm', 'go on', 'next'] as const).find((one) => offers.includes(one))
    if (kind) this.#request({ kind })
  }

  #request(
    asked:
      | { readonly kind: 'ready' | 'confirm' | 'go on' | 'next' | 'stop' }
      | { readonly kind: 'open step'; readonly step: string },
    arrived = () => {},
  ): void {
    this.#toService(() =>
      this.#service.run('page', () => {
        void this.#opened?.session.request({ ...asked, id: asked.kind }).then(({ ok }) => {
          this.oracle.look()
          if (ok && (asked.kind === 'ready' || asked.kind === 'confirm')) this.oracle.askedAgain()
        })
        arrived()
        this.oracle.look()
      }),
    )
  }

  #steer(present: boolean): void {
    this.#shown = present
    const why = present ? 'the page that steers is here' : 'the page that steers is hidden'
    this.#toService(() =>
      this.#service.run('page', () => {
        this.#opened?.session.steererPresent(present, why)
        this.oracle.steered(present)
      }),
    )
  }

  #host(who: ProcessName): Host {
    return who === 'service' ? this.#service : who === 'keeper' ? this.#keeper : this.#standby
  }

  get #standby(): Host {
    const newest = this.#standbys.at(-1)
    if (!newest) throw new TypeError('a bench opens with a standby')
    return newest
  }

  /** Any two may be gone at once, but never all. */
  #spared(who: ProcessName): boolean {
    const rest = [this.#service, this.#keeper, this.#standby].filter((host) => host !== this.#host(who))
    return rest.every((host) => !host.alive || host.frozen)
  }

  #freeze(who: ProcessName, ms: number): void {
    const host = this.#host(who)
    if (this.#spared(who) || !host.alive) return
    host.freeze()
    this.oracle.hit()
    void this.#sleep(ms).then(() => host.thaw())
  }

  #kill(who: ProcessName): void {
    if (this.#spared(who)) return
    this.#host(who).kill()
    this.oracle.hit()
  }

  #suffer(fault: WireFault, ms: number): void {
    const wire = this.#world.wires.supply
    const generation = ++this.#link.generation
    wire.suffer(fault)
    this.oracle.link({ dark: wire.dark, twice: fault.kind === 'twice', extraMs: extraMs(fault) })
    void this.#sleep(ms).then(() => {
      if (generation === this.#link.generation) this.#mend()
    })
  }

  #mend(): void {
    this.#link.generation += 1
    this.#world.wires.supply.suffer(null)
    this.oracle.link({ dark: false, twice: false, extraMs: 0 })
  }

  #loseMeter(name: 'volts' | 'power', ms: number): void {
    const wire = this.#world.wires[name]
    wire.suffer({ kind: 'cut' })
    void this.#sleep(ms).then(() => wire.suffer(null))
  }

  /** All is well again, and whoever is left is told to end. */
  async #end(): Promise<void> {
    for (const host of [this.#service, this.#keeper, ...this.#standbys]) host.thaw()
    this.#mend()
    for (const wire of Object.values(this.#world.wires)) wire.suffer(null)
    this.#world.set.key(false)
    this.trace.push('the end: everything goes on, and is told to close')
    const opened = this.#opened
    if (this.#service.alive && opened) {
      const closed = new Promise<void>((resolve) => this.#service.run('page', () => void opened.close().then(resolve)))
      await within(this.#clock, CLOSE_MS, closed, 'the service did not close')
    }
    for (const host of [this.#keeper, ...this.#standbys]) {
      const gone = new Promise<void>((resolve) => host.onDeath(resolve))
      await within(this.#clock, CLOSE_MS, gone, `the ${host.name} did not end`)
    }
    await this.#sleep(FADE_MS)
    const { on, setVolts } = this.#world.truth()
    if (isHigh(setVolts)) this.oracle.violate('left high', `everything is closed, and it is set to ${setVolts} V`)
    if (on) this.oracle.violate('does not end', 'everything is closed, and the output is on')
    if (this.#service.alive && this.#service.asleep > 0)
      this.oracle.violate('does not end', `${this.#service.asleep} sleeps of the closed service go on`)
  }

  #changed(before: Truth, after: Truth): void {
    this.oracle.changed(before, after)
    if (before.on === after.on && before.setVolts === after.setVolts) return
    const at = this.#at()
    const words = `supply ${after.on ? 'on' : 'off'}, set to ${after.setVolts.toFixed(2)} V`
    const ramp = before.on && after.on && after.setVolts > before.setVolts
    const last = this.trace.at(-1) ?? ''
    if (ramp && this.#ramping && last.includes(RAMP))
      this.trace[this.trace.length - 1] = `${last.split(RAMP)[0]}${RAMP}${words} at ${at} s`
    else this.#tell(`${words}${ramp ? `${RAMP}there` : ''}`)
    this.#ramping = ramp
  }

  #at(): string {
    return ((this.#clock.nowMs() - this.#startMs) / 1000).toFixed(3)
  }

  #tell(words: string): void {
    this.trace.push(`${this.#at()} s      ${words}`)
  }

  #sleep(ms: number): Promise<void> {
    return this.#clock.sleepUntil(this.#clock.nowMs() + ms, NEVER)
  }
}

function extraMs(fault: WireFault): number {
  if (fault.kind === 'late') return LATE_SHARE * fault.ms
  return fault.kind === 'garble' ? GARBLE_EXTRA_MS : 0
}

async function within<T>(clock: VirtualClock, ms: number, work: Promise<T>, words: string): Promise<T> {
  const done = new AbortController()
  const late = clock.sleepUntil(clock.nowMs() + ms, done.signal).then(() => {
    throw new Error(`${words} within ${ms / 1000} s`)
  })
  late.catch(() => {}) // told by the race, or not wanted any more
  try {
    return await Promise.race([work, late])
  } finally {
    done.abort()
  }
}
