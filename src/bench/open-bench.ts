import { BenchError } from '../fault/bench-error.ts'
import { addressOf } from '../instrument/address-of.ts'
import type { Instrument, InstrumentDeps } from '../instrument/open-instrument.ts'
import type { Supply } from '../keeper/service/supply.ts'
import { unitOf } from '../quantity/quantity.ts'
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
  const epochs = countEpochs()
  const pollers = options.file.entries.flatMap((entry) => pollerOf(entry, options, epochs, readings, news))
  try {
    await firstTries(pollers, options)
  } catch (error) {
    for (const poller of pollers) await poller.close()
    throw error
  }
  return openedBench(options, { pollers, epochs, readings, news })
}

interface Parts {
  readonly pollers: readonly Poller[]
  readonly epochs: Epochs
  readonly readings: Listeners<Reading>
  readonly news: Listeners<LinkNews>
}

function openedBench(options: BenchOptions, { pollers, epochs, readings, news }: Parts): Bench {
  const { file, supply, deps } = options
  const supplyEntry = file.entries.find((entry) => driverOf(entry, options).supply)
  const supplyStates = new Listeners<SupplyState>()
  const meters = file.entries.flatMap((entry) => metersOf(entry, driverOf(entry, options)))
  const stopListening = supply.onState((state) => {
    supplyStates.tell(state)
    if (supplyEntry) readings.tell(currentReading(supplyEntry.name, state, epochs))
  })
  let closing: Promise<void> | null = null

  const close = async () => {
    stopListening()
    const generators = pollers.filter(({ sources }) => sources.length > 0)
    const others = pollers.filter(({ sources }) => sources.length === 0)
    for (const poller of [...generators, ...others.toReversed()]) await poller.close()
  }

  return {
    name: file.name,
    simulated: supply.simulated,
    supply,
    supplyTrip: supplyEntry ? supplyTripOf(supplyEntry, driverOf(supplyEntry, options)) : 'own',
    meters,
    instruments: () => file.entries.map((entry) => infoOf(entry, options, pollers)),
    watch: (wanted) => {
      for (const poller of pollers) poller.watch(wanted)
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
    sources: pollers.flatMap((poller) => poller.sources.map((name) => ({ name, instrument: poller.name }))),
    source: (name) => sourceOf(name, file.name, pollers),
    onReading: (listener) => readings.add(listener),
    onLink: (listener) => {
      const off = news.add(listener)
      for (const poller of pollers)
        if (poller.fault) listener({ instrument: poller.name, up: false, fault: poller.fault })
      return off
    },
    onSupply: (listener) => supplyStates.add(listener),
    typeIn: (quantity, value, raw, parts) => {
      const meter = meters.find((facts) => facts.typed && facts.quantity === quantity)
      if (!meter)
        throw new BenchError('BENCH_NOBODY_MEASURES', file.name, `no meter for ${quantity} is read by a person`)
      if (!Number.isFinite(value)) throw new TypeError(`${value} ${unitOf(quantity)} cannot be typed in`)
      const nowMs = deps.clock.nowMs()
      const reading: Reading = {
        quantity,
        instrument: meter.instrument,
        epoch: epochs.current,
        beganMs: nowMs,
        arrivedMs: nowMs,
        raw,
        value,
        state: 'good',
        ...(parts ? { parts } : {}),
      }
      readings.tell(reading)
      return reading
    },
    close: () => {
      closing ??= close()
      return closing
    },
  }
}

function pollerOf(
  entry: BenchEntry,
  options: BenchOptions,
  epochs: Epochs,
  readings: Listeners<Reading>,
  news: Listeners<LinkNews>,
): Poller[] {
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
    epochs,
    mindKind: (instrument) => refuseOtherKind(file.name, instrument, supply),
    onReading: (reading) => readings.tell(reading),
    onLink: (one) => news.tell(one),
    onSource: () => {},
  })
  return [poller]
}

function sourceOf(name: SourceName, bench: string, pollers: readonly Poller[]): BenchSource {
  const maker = pollers.find(({ sources }) => sources.includes(name))
  return {
    there: maker !== undefined,
    set: async (signal, abort) => {
      if (!maker) throw new BenchError('BENCH_NOBODY_MEASURES', bench, `no instrument makes ${SOURCES[name].one}`)
      await maker.setSource(name, signal, abort)
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
