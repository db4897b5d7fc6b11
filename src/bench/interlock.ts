import { BenchError, plainWords, wordsOf } from '../fault/bench-error.ts'
import type { Supply, SupplyLimits, Wish } from '../keeper/service/supply.ts'
import type { Quantity } from '../quantity/quantity.ts'
import type { MeterFacts, Reading } from '../schema/kept/reading.ts'
import type { FromKeeper, SupplyState } from '../schema/messages/keeper-message.ts'
import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import { type Said, said } from '../words/said/said.ts'
import { Listeners } from './listeners.ts'
import type { SourceState } from './own-sources.ts'

/** A generator at the aerial socket. */
export interface Generator {
  /** Its name on the bench. */
  readonly name: string
  /** What is known of its RF; whatever is not proved off counts as on. */
  state(): SourceState
  /** Off, and proved by its own answer. Throws what kept it from that. */
  off(abort: AbortSignal): Promise<void>
}

/**
 * Keeps generator and transmitter apart, whoever steers: the supply is set and switched on only when every generator has just answered
 * that its RF is off, none is switched on while the radio may transmit, and a key that is seen while one is on, or does not answer,
 * takes both away.
 */
export interface Interlock {
  /** The supply as the bench gives it out. `Wish.set` and `Wish.on` throw BENCH_GENERATOR_ON where an RF is not proved off. */
  readonly supply: Supply
  /** What is wanted, and RF power besides it while a generator is on or may be: a key is seen by it too. */
  alsoWatched(wanted: readonly Quantity[]): readonly Quantity[]
  /** Asked in the moment before RF is switched on. Throws BENCH_GENERATOR_REFUSED while the radio is keyed, may be keyed, or cannot be seen. */
  mayBeOn(): void
  /** What is known of a generator has changed. */
  changed(): void
  reading(reading: Reading): void
  close(): void
}

/** From here on RF at the radio's socket is its own: no generator gives a tenth of a watt (usual ones 20 mW at most; common practice). */
const OWN_RF_WATTS = 0.1
/** A limit that reads back within this of the receive limit is the receive limit, A. */
const SAME_AMPS = 0.01

type Acted = Extract<FromKeeper, { kind: 'acted' }>

/** `generators`: at least one. `power`: the meter by which RF of the radio is seen; null without one. */
export function openInterlock(about: {
  readonly supply: Supply
  readonly generators: readonly Generator[]
  readonly power: MeterFacts | null
  readonly deps: { readonly clock: Clock; readonly log: Log }
}): Interlock {
  const { supply, generators, power, deps } = about
  const ended = new AbortController()
  const acts = new Listeners<Acted>()
  const orders = openOrders(supply, generators, ended.signal)
  /** Since when a generator is on, or may be, bench ms; null while all are proved off. */
  let openSinceMs: number | null = deps.clock.nowMs()
  /** It was dealt with already, until the key is seen up. */
  let told = false

  const notOff = () => generators.filter((one) => one.state() !== 'off')

  const away = (seen: Said) => {
    told = true
    const names = notOff().map(({ name, state }) =>
      state() === 'on' ? said('generator.was-on', { generator: name }) : said('generator.silent', { generator: name }),
    )
    const why = said('generator.keyed-into', { seen, which: names })
    takeAway({ supply, generators, deps, acts, signal: ended.signal }, why)
  }

  const look = (state: SupplyState) => {
    const seen = keyIn(orders.limits(), state)
    if (seen === null) told = false
    else if (!told && notOff().length > 0) away(seen)
  }

  const unlisten = supply.onState(look)

  return {
    supply: givenOut(supply, orders.wish, acts),
    alsoWatched: (wanted) =>
      power === null || openSinceMs === null || wanted.includes(power.quantity) ? wanted : [...wanted, power.quantity],
    mayBeOn: () => {
      const against = whyNot(orders, supply.latest())
      if (against !== null)
        throw new BenchError('BENCH_GENERATOR_REFUSED', generators.map(({ name }) => name).join(', '), against)
    },
    changed: () => {
      const open = notOff()
      openSinceMs = open.length === 0 ? null : (openSinceMs ?? deps.clock.nowMs())
      if (open.length === 0) return
      const state = supply.latest()
      look(state)
      // Switched on by hand where the radio may be keyed at any moment.
      for (const one of open.filter((other) => other.state() === 'on'))
        if (state.output !== 'off' && transmits(orders.limits(), state) && !told)
          one
            .off(ended.signal)
            .catch((error: unknown) =>
              deps.log.warn(
                { generator: one.name, fault: wordsOf(error) },
                'it was switched on by hand, and is not proved off',
              ),
            )
    },
    reading: (reading) => {
      if (power === null || openSinceMs === null || told || reading.value === null) return
      if (reading.quantity !== power.quantity || reading.instrument !== power.instrument) return
      const watts = reading.value * 10 ** (power.pathLossDb / 10)
      if (reading.beganMs >= openSinceMs && watts >= OWN_RF_WATTS)
        away(said('generator.watts', { watts: `${watts.toPrecision(2)} W` }))
    },
    close: () => {
      unlisten()
      ended.abort(new Error('the bench is closed'))
    },
  }
}

/** The supply, with wishes that are held behind the proof, and with what the interlock does by itself told as the keeper's own acts are. */
function givenOut(supply: Supply, wish: () => Wish, acts: Listeners<Acted>): Supply {
  return {
    get identity() {
      return supply.identity
    },
    get simulated() {
      return supply.simulated
    },
    latest: () => supply.latest(),
    wish,
    normal: (why) => supply.normal(why),
    safe: (why) => supply.safe(why),
    onState: (listener) => supply.onState(listener),
    onActed: (listener) => {
      const offs = [supply.onActed(listener), acts.add(listener)]
      return () => {
        for (const off of offs) off()
      }
    },
    onGone: (listener) => supply.onGone(listener),
    close: () => supply.close(),
  }
}

/** Generators and supply off at once, and said; what could not be proved is said too. */
function takeAway(
  about: {
    readonly supply: Supply
    readonly generators: readonly Generator[]
    readonly deps: { readonly clock: Clock; readonly log: Log }
    readonly acts: Listeners<Acted>
    readonly signal: AbortSignal
  },
  why: Said,
): void {
  const { supply, generators, deps, acts, signal } = about
  deps.log.error(
    { why, generators: generators.map(({ name }) => name) },
    'keyed while a generator was on, or may have been',
  )
  const say = (words: Said, proved: boolean) =>
    acts.tell({ kind: 'acted', resting: 'safe', why: words, proved, atMs: deps.clock.nowMs() })
  const offs = generators.map((one) =>
    one.off(signal).then(
      () => null,
      (error: unknown) => ({ name: one.name, fault: plainWords(error) }),
    ),
  )
  const safe = supply.safe(why).then(
    () => true,
    (error: unknown) => {
      deps.log.error({ fault: wordsOf(error) }, 'the supply did not go off')
      return false
    },
  )
  void safe.then(async (proved) => {
    say(why, proved)
    const failed = (await Promise.all(offs)).filter((one) => one !== null)
    if (failed.length === 0 || signal.aborted) return
    for (const { name, fault } of failed) say(said('generator.by-hand', { generator: name, fault, why }), proved)
  })
}

/** What was ordered of the supply through the interlock. */
interface Orders {
  wish(): Wish
  /** As they were told last; null before any were. */
  limits(): SupplyLimits | null
  /** One is under way. */
  busy(): boolean
}

/** Wishes each of whose orders waits for the proof that every generator is off. */
function openOrders(supply: Supply, generators: readonly Generator[], signal: AbortSignal): Orders {
  let limits: SupplyLimits | null = null
  let underWay = 0

  const proveOff = async (one: Generator) => {
    try {
      await one.off(signal)
    } catch (error) {
      if (!(error instanceof BenchError)) throw error
      const happened = said('generator.not-proved', { generator: one.name, why: error.happened })
      throw new BenchError('BENCH_GENERATOR_ON', error.who, happened, error)
    }
  }

  const behindProof = async (order: () => Promise<SupplyState>): Promise<SupplyState> => {
    underWay += 1
    try {
      await Promise.all(generators.map(proveOff))
      return await order()
    } finally {
      underWay -= 1
    }
  }

  return {
    limits: () => limits,
    busy: () => underWay > 0,
    wish: () => {
      const own = supply.wish()
      return {
        get live() {
          return own.live
        },
        limits: (asked) => {
          limits = asked
          return own.limits(asked)
        },
        set: (volts, amps) => behindProof(() => own.set(volts, amps)),
        on: () => behindProof(() => own.on()),
      }
    },
  }
}

/** How the key is seen in the supply, in words; null where it is not. */
function keyIn(limits: SupplyLimits | null, { amps, output, regulation }: SupplyState): Said | null {
  if (limits === null || output === 'off' || amps === null) return null
  return amps >= limits.keyedAboveAmps || regulation === 'current'
    ? said('generator.amps', { amps: `${amps.toFixed(2)} A` })
    : null
}

/** The supply gives what a transmitter takes, as far as is known. */
function transmits(limits: SupplyLimits | null, { limitAmps }: SupplyState): boolean {
  return limits === null || limitAmps === null || limitAmps > limits.receiveAmps + SAME_AMPS
}

/** Why no RF may be on now; null where it may. */
function whyNot(orders: Orders, state: SupplyState): Said | null {
  if (orders.busy()) return said('generator.busy')
  if (state.output === 'unknown' || state.amps === null) return said('generator.unseen')
  const keyed = keyIn(orders.limits(), state)
  if (keyed !== null) return said('generator.keyed', { seen: keyed })
  return transmits(orders.limits(), state) ? said('generator.transmit') : null
}
