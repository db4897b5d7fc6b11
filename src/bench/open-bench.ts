import { BenchError } from '../fault/bench-error.ts'
import { addressOf } from '../instrument/address-of.ts'
import type { Instrument, InstrumentDeps } from '../instrument/open-instrument.ts'
import type { Supply } from '../keeper/service/supply.ts'
import { type Quantity, unitOf } from '../quantity/quantity.ts'
import { type BenchEntry, type BenchFile, kindOfBench } from '../schema/files/bench-file.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'
import { meterFacts } from '../schema/files/meter-facts.ts'
import { SOURCES, type SourceName } from '../schema/files/sources.ts'
import { supplyTripOf } from '../schema/files/supply-trip.ts'
import type { MeterFacts, Reading } from '../schema/kept/reading.ts'
import type { SupplyState } from '../schema/messages/keeper-message.ts'
import { readIdentity } from '../scpi/identity.ts'
import { unless, within } from '../system/deadline.ts'
import type { Rng } from '../system/rng.ts'
import type { Bench, BenchSource, InstrumentInfo, LinkNews } from './bench.ts'
import { countEpochs, type Epochs } from './epochs.ts'
import { type Interlock, openInterlock } from './interlock.ts'
import { Listeners } from './listeners.ts'
import { Poller } from './poller.ts'
import { madeBy, measuredBy } from './who-measures.ts'

/** What a bench is opened from. `addresses`: what the simulated bench printed, by name. `signal` calls off the opening only. */
export interface BenchOptions {
  readonly file: BenchFile
  readonly drivers: ReadonlyMap<string, DriverFile>
  readonly deps: InstrumentDeps & { readonly rng: Rng }
  /** The keeper's client: the bench itself never talks to the supply. */
  readonly supply: Supply
  readonly addresses?: Readonly<Record<string, string>>
  /** Instruments that take longer to answer join the opened bench later, ms; 5 s where it is left out. */
  readonly openWithinMs?: number
  readonly signal: AbortSignal
}

/**
 * Opens every meter and source of a bench. One that does not answer is down, with its fault, and is tried again; a mix of real and
 * simulated instruments is refused: BENCH_MIXED. Throws BENCH_ADDRESS_UNKNOWN, TRANSPORT_ADDRESS or `signal.reason` too; nothing stays open then.
 */
export async function openBench(options: BenchOptions): Promise<Bench> {
  refuseMixedFile(options)
  const readings = new Listeners<Reading>()
  const news = new Listeners<LinkNews>()
  const sources = new Listeners<SourceName>()
  const epochs = countEpochs()
  const heard = { epochs, readings, news, sources }
  const pollers = options.file.entries.flatMap((entry) => pollerOf(entry, options, heard))
  try {
    await firstTries(pollers, options)
  } catch (error) {
    for (const poller of pollers) await poller.close()
    throw error
  }
  return openedBench(options, pollers, heard)
}

/** What the pollers share, and what they tell. */
interface Heard {
  readonly epochs: Epochs
  readonly readings: Listeners<Reading>
  readonly news: Listeners<LinkNews>
  /** What is known of this source has changed. */
  readonly sources: Listeners<SourceName>
}

function openedBench(options: BenchOptions, pollers: readonly Poller[], heard: Heard): Bench {
  const { file, deps } = options
  const { epochs, readings, news } = heard
  const supplyEntry = file.entries.find((entry) => driverOf(entry, options).supply)
  const supplyStates = new Listeners<SupplyState>()
  const meters = file.entries.flatMap((entry) => metersOf(entry, driverOf(entry, options)))
  const guard = guardOf(options, pollers, heard, meters)
  const { supply } = guard ?? options
  const stopListening = supply.onState((state) => {
    supplyStates.tell(state)
    if (supplyEntry) readings.tell(currentReading(supplyEntry.name, state, epochs))
  })
  let closing: Promise<void> | null = null
  let wanted: readonly Quantity[] = []
  const watch = () => {
    for (const poller of pollers) poller.watch(guard && !poller.isBox ? guard.alsoWatched(wanted) : wanted)
  }
  const stopWatching = heard.sources.add(watch)

  const close = async () => {
    stopListening()
    stopWatching()
    guard?.close()
    const generators = pollers.filter(({ sources }) => sources.names.length > 0)
    const others = pollers.filter(({ sources }) => sources.names.length === 0)
    for (const poller of [...generators, ...others.toReversed()]) await poller.close()
  }

  return {
    name: file.name,
    simulated: supply.simulated,
    supply,
    supplyTrip: supplyEntry ? supplyTripOf(supplyEntry, driverOf(supplyEntry, options)) : 'own',
    meters,
    instruments: () => file.entries.map((entry) => infoOf(entry, options, pollers)),
    watch: (quantities) => {
      wanted = quantities
      watch()
    },
    get epoch() {
      return epochs.current
    },
    raiseEpoch: (cause) => {
      const nowMs = deps.clock.nowMs()
      const epoch = epochs.raise(nowMs)
      for (const poller of pollers) poller.changed(nowMs, cause)
      deps.log.info({ epoch, cause }, 'something was changed')
      return epoch
    },
    sources: pollers.flatMap((poller) => poller.sources.names.map((name) => ({ name, instrument: poller.name }))),
    source: (name) => sourceOf(name, file.name, pollers, guard),
    onReading: (listener) => readings.add(listener),
    onLink: (listener) => {
      const off = news.add(listener)
      for (const poller of pollers)
        if (poller.fault) listener({ instrument: poller.name, up: false, fault: poller.fault })
      return off
    },
    onSupply: (listener) => supplyStates.add(listener),
    typeIn: (quantity, value, raw, parts, role) => {
      const nowMs = deps.clock.nowMs()
      const typed = typedReading(file.name, meters, {
        quantity,
        value,
        raw,
        ...(parts ? { parts } : {}),
        ...(role === undefined ? {} : { role }),
      })
      const reading: Reading = { ...typed, epoch: epochs.current, beganMs: nowMs, arrivedMs: nowMs }
      readings.tell(reading)
      return reading
    },
    close: () => {
      closing ??= close()
      return closing
    },
  }
}

/** What a person read at a meter, without its times. Throws BENCH_NOBODY_MEASURES where nobody reads it, TypeError for what is no number. */
function typedReading(
  bench: string,
  meters: readonly MeterFacts[],
  said: Pick<Reading, 'quantity' | 'raw' | 'parts' | 'role'> & { readonly value: number },
): Omit<Reading, 'epoch' | 'beganMs' | 'arrivedMs'> {
  const { quantity, value, role } = said
  const meter = meters.find((facts) => facts.typed && facts.quantity === quantity && facts.role === role)
  if (!meter) throw new BenchError('BENCH_NOBODY_MEASURES', bench, `no meter for ${quantity} is read by a person`)
  if (!Number.isFinite(value)) throw new TypeError(`${value} ${unitOf(quantity)} cannot be typed in`)
  return { instrument: meter.instrument, state: 'good', ...said }
}

/** What keeps generators and transmitter apart; null on a bench without a generator. */
function guardOf(
  { supply, deps }: BenchOptions,
  pollers: readonly Poller[],
  { readings, sources }: Heard,
  meters: readonly MeterFacts[],
): Interlock | null {
  const generators = pollers.flatMap((poller) =>
    poller.sources.names
      .filter((name) => SOURCES[name].guarded)
      .map((name) => ({
        name: poller.name,
        state: () => poller.sources.state(name),
        off: (abort: AbortSignal) => poller.setSource(name, null, abort),
      })),
  )
  if (generators.length === 0) return null
  const powers = meters.filter(({ quantity }) => quantity === 'RF power')
  const power = powers.find(({ role }) => role === undefined) ?? powers[0] ?? null
  const interlock = openInterlock({ supply, generators, power, deps })
  const offs = [readings.add(interlock.reading), sources.add(interlock.changed)]
  interlock.changed()
  return {
    ...interlock,
    close: () => {
      for (const off of offs) off()
      interlock.close()
    },
  }
}

function pollerOf(entry: BenchEntry, options: BenchOptions, heard: Heard): Poller[] {
  const driver = driverOf(entry, options)
  if (driver.typed || driver.supply) return []
  const { deps, supply, file } = options
  const poller = new Poller({
    entry,
    driver,
    address: addressOf(entry, options.addresses),
    measures: measuredBy(entry, driver),
    makes: madeBy(entry, driver),
    deps,
    epochs: heard.epochs,
    mindKind: (instrument) => refuseOtherKind(file.name, instrument, supply),
    onReading: (reading) => heard.readings.tell(reading),
    onLink: (one) => heard.news.tell(one),
    onSource: (name) => heard.sources.tell(name),
  })
  return [poller]
}

function sourceOf(name: SourceName, bench: string, pollers: readonly Poller[], guard: Interlock | null): BenchSource {
  const maker = pollers.find(({ sources }) => sources.names.includes(name))
  return {
    there: maker !== undefined,
    set: async (signal, abort) => {
      if (!maker) throw new BenchError('BENCH_NOBODY_MEASURES', bench, `no instrument makes ${SOURCES[name].one}`)
      const may = signal !== null && SOURCES[name].guarded ? guard?.mayBeOn : undefined
      await maker.setSource(name, signal, abort, may)
    },
  }
}

function driverOf(entry: BenchEntry, options: BenchOptions): DriverFile {
  const driver = options.drivers.get(entry.driver)
  if (!driver) throw new TypeError(`the driver ${entry.driver} of ${entry.name} was not loaded`)
  return driver
}

function metersOf(entry: BenchEntry, driver: DriverFile): readonly MeterFacts[] {
  return measuredBy(entry, driver).map((quantity) => meterFacts(entry, driver, quantity))
}

function infoOf(entry: BenchEntry, options: BenchOptions, pollers: readonly Poller[]): InstrumentInfo {
  const poller = pollers.find((one) => one.name === entry.name)
  if (poller) return poller.info()
  const driver = driverOf(entry, options)
  const { supply } = options
  return {
    name: entry.name,
    driver: driver.id,
    address: driver.supply ? (options.addresses?.[entry.name] ?? entry.at ?? '') : '',
    identity: driver.supply ? supply.identity : '',
    simulated: driver.supply ? supply.simulated : false,
    up: driver.supply ? supply.latest().output !== 'unknown' : true,
    calibrationDue: entry.calibrationDue,
    certificate: entry.certificate,
    serial: driver.supply ? readIdentity(supply.identity).serial : '',
    typed: driver.typed,
  }
}

/** The supply measures its own current; each of its states is a reading, also one that it could not read. */
function currentReading(instrument: string, state: SupplyState, epochs: Epochs): Reading {
  return {
    quantity: 'DC current',
    instrument,
    epoch: epochs.at(state.beganMs),
    beganMs: state.beganMs,
    arrivedMs: state.atMs,
    raw: state.rawAmps,
    value: state.amps,
    state: state.amps === null ? 'unreadable' : 'good',
  }
}

function refuseMixedFile({ file, supply }: BenchOptions): void {
  const kind = kindOfBench(file)
  if (kind === 'mixed') {
    const real = file.entries
      .filter((entry) => entry.at !== null && entry.at !== 'simulated')
      .map((entry) => entry.name)
    throw new BenchError(
      'BENCH_MIXED',
      file.name,
      `some instruments are "at: simulated" and some are not: ${real.join(', ')}`,
    )
  }
  if (kind === 'simulated' && !supply.simulated)
    throw new BenchError(
      'BENCH_MIXED',
      file.name,
      `the bench file says simulated, and the supply answers as "${supply.identity}"`,
    )
}

/** The supply is what every other instrument is held against, since it was reached before any of them. */
function refuseOtherKind(bench: string, instrument: Instrument, supply: Supply): void {
  if (instrument.simulated === supply.simulated) return
  const kinds = instrument.simulated ? 'is simulated and the supply is real' : 'is real and the supply is simulated'
  throw new BenchError('BENCH_MIXED', bench, `${instrument.who} ${kinds}: it answers as "${instrument.identity}"`)
}

const OPEN_WITHIN_MS = 5000

/** Waits until each instrument was tried once, or the time is up. Throws a fault that no second try can mend, or `signal.reason`. */
async function firstTries(pollers: readonly Poller[], { deps, signal, openWithinMs }: BenchOptions): Promise<void> {
  signal.throwIfAborted()
  const { clock } = deps
  const faults: (BenchError | null)[] = []
  const tried = pollers.map((poller) => poller.start().then((fault) => faults.push(fault)))
  const all = unless(Promise.all(tried), [signal])
  await within(clock, openWithinMs ?? OPEN_WITHIN_MS, all, () => {}) // who has not answered yet may come up later
  const fault = faults.find((one) => one?.code === 'BENCH_MIXED' || one?.code === 'TRANSPORT_ADDRESS')
  if (fault) throw fault
}
