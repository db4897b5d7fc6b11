import { BenchError } from '../src/fault/bench-error.ts'
import type { Quantity } from '../src/quantity/quantity.ts'
import type { Clock } from '../src/system/clock.ts'
import type { Log } from '../src/system/log.ts'
import { type Rng, seededRng } from '../src/system/rng.ts'
import { createAudioOscillator } from './instruments/audio-oscillator.ts'
import { createCounter } from './instruments/counter.ts'
import { createDisplays, type Displays, isDisplayed } from './instruments/displays.ts'
import { createModulationMeter } from './instruments/modulation-meter.ts'
import { createMultimeter } from './instruments/multimeter.ts'
import { createOlderPowerMeter } from './instruments/older-power-meter.ts'
import { createPowerMeter } from './instruments/power-meter.ts'
import { createRfGenerator, type RfGenerator } from './instruments/rf-generator.ts'
import { createSupply } from './instruments/supply.ts'
import { createTestSet } from './instruments/test-set.ts'
import { type LineServer, orderly, pullFor } from './links/line-server.ts'
import { createSimulatedNet, type SimulatedNet } from './links/memory-net.ts'
import { canServePty, servePty } from './links/pty-line.ts'
import { serveTcp } from './links/tcp-line.ts'
import { ARRIVES, type Positions, randomised } from './plant/adjusters.ts'
import { createPlant, type Plant } from './plant/plant.ts'
import { createSimulatedSet, type SimulatedSet } from './plant/simulated-set.ts'
import { serveSetPage } from './set-page/set-server.ts'
import {
  type BenchFaults,
  createFaultBoard,
  type FaultBoard,
  type FaultSetting,
  INSTRUMENT_FAULTS,
} from './unit/faults.ts'
import type { SimulatedInstrument } from './unit/instrument.ts'
import type { InstrumentSurroundings } from './unit/line-session.ts'

/** Names of the simulated instruments, as a bench file would have them. */
export const INSTRUMENT_NAMES = [
  'counter',
  'power',
  'modmeter',
  'volts',
  'supply',
  'oscillator',
  'testset',
  'wattmeter',
  'generator',
] as const
export type InstrumentName = (typeof INSTRUMENT_NAMES)[number]

/** What is on a simulated bench: instruments with a link, and quantities that are read off meters without one. */
export interface BenchParts {
  readonly instruments: readonly InstrumentName[]
  readonly displays: readonly Quantity[]
}

/** What stands on the benches of mocks/benches, by the name of the file. */
export const BENCHES = {
  separate: { instruments: ['counter', 'power', 'modmeter', 'volts', 'supply', 'oscillator'], displays: [] },
  'both-sides': {
    instruments: ['counter', 'power', 'modmeter', 'volts', 'supply', 'oscillator', 'generator'],
    displays: [],
  },
  'one-box': { instruments: ['volts', 'supply', 'testset'], displays: [] },
  'no-socket': { instruments: ['counter', 'volts', 'supply', 'oscillator'], displays: ['RF power', 'FM deviation'] },
  older: { instruments: ['counter', 'modmeter', 'volts', 'supply', 'oscillator', 'wattmeter'], displays: [] },
} as const satisfies Record<string, BenchParts>
export type BenchKind = keyof typeof BENCHES

/** Whether the simulated bench has an instrument of this name. */
export function isInstrumentName(name: string): name is InstrumentName {
  return INSTRUMENT_NAMES.some((one) => one === name)
}

export interface SimulatedBenchSetting {
  readonly clock: Clock
  /** Noise of the meters, voice, chance faults. */
  readonly rng: Rng
  readonly log: Log
  /** real: TCP sockets on 127.0.0.1, the multimeter and the older power meter on pseudo-terminals where socat is there; memory: only `net`. */
  readonly links: 'real' | 'memory'
  /** What stands on it: one of the known benches, or these parts; `separate` unless said otherwise. */
  readonly kind?: BenchKind | BenchParts
  /** Ends everything. */
  readonly signal: AbortSignal
  /** Which set lies on the bench: null is the healthy one of mocks/plant, to the digit, a number is another by chance. */
  readonly seed: number | null
  /** Adjusters as they are found; wins over the seed. */
  readonly asFound?: Positions
  /** Switched on for half an hour already; true unless said otherwise. */
  readonly warm?: boolean
  /** The set's own page on a free port; false unless said otherwise. */
  readonly setPage?: boolean
}

/** Of the instruments that stand on the bench; "" for the supply where there is none. */
export type Addresses = Readonly<Partial<Record<InstrumentName, string>>> & { readonly supply: string }

/** What is really at the supply's terminals, and what its output would give if somebody put a finger on the key now. */
export interface SupplyTruth {
  readonly volts: number
  readonly amps: number
  readonly output: 'on' | 'off'
  readonly setVolts: number
}

/** An opened simulated bench. */
export interface SimulatedBench {
  readonly addresses: Addresses
  /** What a person reads off the meters without a socket now ("3.85 W", "1.78 / 1.71 kHz"), by quantity. */
  readonly displays: Displays
  readonly set: SimulatedSet
  /** The same instruments without sockets; structurally the transport's memory net. */
  readonly net: SimulatedNet
  readonly faults: BenchFaults
  /** What is really at the supply's terminals, whatever its read-back says. */
  supplyTruth(): SupplyTruth
  /** The RF generator, where one stands here: what is really at its socket, and the key at its panel. */
  readonly generator: Pick<RfGenerator, 'truth' | 'press'> | null
  readonly setPageUrl: string | null
  /** Idempotent; never rejects. */
  close(): Promise<void>
}

/** Opens plant, instruments, links and, if asked, the set's page; or nothing. Throws SIMULATION_FAILED. */
export async function openSimulatedBench(setting: SimulatedBenchSetting): Promise<SimulatedBench> {
  const { clock, rng, log, signal, kind = 'separate' } = setting
  const parts: BenchParts = typeof kind === 'string' ? BENCHES[kind] : kind
  signal.throwIfAborted()
  const ownRng = () => seededRng(Math.floor(rng() * 2 ** 32))
  const { positions, timebasePpm, coverHz } = lotOf(setting)

  const plant = createPlant({ clock, rng: ownRng(), positions, warm: setting.warm ?? true, coverHz })
  const board = createFaultBoard(clock, ownRng(), () => plant.observe().transmitting)
  const around = (): InstrumentSurroundings => ({ clock, rng: ownRng(), faults: board })
  // Each has chance of its own, drawn whether it is there or not: the same seed is the same set on every bench.
  const makers = new Map<InstrumentName, () => SimulatedInstrument>()
  const may = (name: InstrumentName, make: (around: InstrumentSurroundings) => SimulatedInstrument) => {
    const own = around()
    makers.set(name, () => make(own))
  }
  may('counter', (own) => createCounter(plant, own, timebasePpm, 'SIM0001'))
  may('power', (own) => createPowerMeter(plant, own, 'SIM0002'))
  may('modmeter', (own) => createModulationMeter(plant, own, 'SIM0003'))
  may('volts', (own) => createMultimeter(plant, own, 'SIM0004'))
  may('supply', (own) => createSupply(plant, own, 'SIM0005'))
  may('oscillator', (own) => createAudioOscillator(plant, own, 'SIM0006'))
  const set = createSimulatedSet(plant, ownRng())
  may('testset', (own) => createTestSet(plant, own, timebasePpm, 'SIM0007'))
  may('wattmeter', (own) => createOlderPowerMeter(plant, own, 'SIM0008'))
  const displays = createDisplays(plant, ownRng(), parts.displays.filter(isDisplayed))
  // Chance of its own is drawn only where it stands here: without it the same seed is what it was before there was one.
  const generator = parts.instruments.includes('generator') ? createRfGenerator(plant, around(), 'SIM0009') : null
  if (generator) makers.set('generator', () => generator.instrument)
  const instruments = new Map<string, SimulatedInstrument>()
  for (const name of parts.instruments) {
    const make = makers.get(name)
    if (make) instruments.set(name, make())
  }
  const net = createSimulatedNet()
  const closing = new AbortController()
  const servers = new Map<string, LineServer>()
  const pages: { close(): Promise<void> }[] = []

  const faults = benchFaults(board, plant, servers, log)
  board.onLink((strike) => {
    const server = servers.get(strike.instrument)
    const unit = instruments.get(strike.instrument)
    if (server && unit) strikeLink(strike, server, unit, { clock, log, signal: closing.signal })
  })
  const close = async () => {
    closing.abort(new Error('simulated bench closed'))
    signal.removeEventListener('abort', onAbort)
    for (const page of pages.splice(0)) await page.close()
    for (const [name, server] of [...servers].toReversed()) {
      servers.delete(name)
      await server.close()
    }
  }
  const onAbort = () => void close()
  signal.addEventListener('abort', onAbort, { once: true })

  try {
    const serve = await serverFor(setting.links, net)
    for (const [name, instrument] of instruments) servers.set(name, orderly(await serve(name, instrument)))
    const page = setting.setPage ? await serveSetPage({ set, displays, faults, clock, log }) : null
    if (page) pages.push(page)
    const addresses = Object.fromEntries([...servers].map(([name, { address }]) => [name, address]))
    log.info({ seed: setting.seed, page: page?.url }, 'simulated bench open')
    return {
      addresses: { ...addresses, supply: addresses.supply ?? '' },
      displays,
      set,
      net,
      faults,
      supplyTruth: () => supplyTruth(plant),
      generator,
      setPageUrl: page?.url ?? null,
      close,
    }
  } catch (error) {
    await close()
    throw asFault(error)
  }
}

/** Which set it is, and what is peculiar to the bench. */
function lotOf({ seed, asFound }: SimulatedBenchSetting): {
  readonly positions: Positions
  readonly timebasePpm: number
  readonly coverHz: number
} {
  const lot = seededRng(seed ?? DEFAULT_LOT)
  const positions = asFound ?? (seed === null ? ARRIVES : randomised(lot))
  return { positions, timebasePpm: (2 * lot() - 1) * MOST_TIMEBASE_PPM, coverHz: 5 + 20 * lot() }
}

/** A fault that takes the link away, or the instrument behind it. */
function strikeLink(
  { instrument, fault, ms }: FaultSetting,
  server: LineServer,
  unit: SimulatedInstrument,
  { clock, log, signal }: Pick<SimulatedBenchSetting, 'clock' | 'log' | 'signal'>,
): void {
  if (fault === 'reset in mid-run') {
    unit.restart()
    return
  }
  if (fault === 'power cycle') unit.powerCycle()
  pullFor(server, ms, clock, signal).catch((error) => {
    // A bench that closes meanwhile leaves the cable out.
    if (!signal.aborted) log.error({ error, instrument }, 'not plugged in again')
  })
}

/** The board's faults with those of the radio; a link whose fault is cleared is plugged in again. */
function benchFaults(board: FaultBoard, plant: Plant, servers: ReadonlyMap<string, LineServer>, log: Log): BenchFaults {
  return {
    ...board,
    clear: (instrument, fault) => {
      board.clear(instrument, fault)
      if (fault !== undefined && INSTRUMENT_FAULTS[fault].strikes !== 'link') return
      for (const [name, server] of servers)
        if (instrument === undefined || name === instrument)
          server.plug().catch((error) => log.error({ error, name }, 'not plugged in again'))
    },
    radio: (fault, on) =>
      plant.change((state) => {
        if (on) state.radioFaults.add(fault)
        else state.radioFaults.delete(fault)
      }),
    radioList: () => [...plant.state().radioFaults],
  }
}

/** What puts an instrument on its link; in memory it can be reached either way. */
async function serverFor(
  links: SimulatedBenchSetting['links'],
  net: SimulatedNet,
): Promise<(name: string, instrument: SimulatedInstrument) => LineServer | Promise<LineServer>> {
  const pty = links === 'real' && (await canServePty())
  return (name, instrument) => {
    const memory = net.serve(instrument)
    if (links === 'memory') return memory
    return SERIAL.has(name) && pty ? servePty(instrument) : serveTcp(instrument)
  }
}

function supplyTruth(plant: Plant): SupplyTruth {
  const now = plant.observe()
  const { on, setVolts } = plant.state().supply
  return { volts: now.terminalVolts, amps: now.amps, output: on ? 'on' : 'off', setVolts }
}

function asFault(error: unknown): BenchError {
  if (error instanceof BenchError) return error
  const words = error instanceof Error ? error.message : String(error)
  return new BenchError('SIMULATION_FAILED', 'simulated bench', words, error)
}

/** Chance of the bench itself (time base, cover) when the set is the healthy one. */
const DEFAULT_LOT = 27
const MOST_TIMEBASE_PPM = 0.3
/** Instruments with a serial line. */
const SERIAL: ReadonlySet<string> = new Set(['volts', 'wattmeter'])
