import { join } from 'node:path'
import { createAudioOscillator } from '../../mocks/instruments/audio-oscillator.ts'
import { createMultimeter } from '../../mocks/instruments/multimeter.ts'
import { createPowerMeter } from '../../mocks/instruments/power-meter.ts'
import { createSupply } from '../../mocks/instruments/supply.ts'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { createPlant, type Plant } from '../../mocks/plant/plant.ts'
import { createSimulatedSet, type SimulatedSet } from '../../mocks/plant/simulated-set.ts'
import { createFaultBoard } from '../../mocks/unit/faults.ts'
import type { SimulatedInstrument } from '../../mocks/unit/instrument.ts'
import { loadBench } from '../../src/bench/load-bench.ts'
import { DRIVERS } from '../../src/commands/bench-options.ts'
import { loadPlans, loadProcedure } from '../../src/commands/load-procedures.ts'
import { type Rng, seededRng } from '../../src/system/rng.ts'
import type { VirtualClock } from '../../src/system/virtual-clock.ts'
import type { MemoryNet } from '../../src/transport/port/byte-port.ts'
import type { Host } from './host.ts'
import { Wire } from './wire.ts'

const here = (file: string) => join(import.meta.dirname, file)

/** Read once: every run is on the same bench, with the same procedure. */
export const BENCH = loadBench(here('bench.yaml'), DRIVERS)
export const PLANS = loadPlans()
export const OFFERED = loadProcedure(here('extremes.yaml'), PLANS)

export type InstrumentName = 'power' | 'volts' | 'supply' | 'oscillator'

/** What is really at the supply now. */
export interface Truth {
  readonly atMs: number
  readonly on: boolean
  /** What the output is set to, and what stands at its terminals. */
  readonly setVolts: number
  readonly volts: number
  readonly transmitting: boolean
}

/** Radio, instruments and their links, and whoever is told of every change at the supply. */
export interface World {
  readonly set: SimulatedSet
  readonly wires: Readonly<Record<InstrumentName, Wire>>
  readonly addresses: Readonly<Record<InstrumentName, string>>
  truth(): Truth
  /** The links as one process reaches them. */
  netFor(host: Host): MemoryNet
}

/** A set that works, with its leads where the steps want them. `changed` is told before and after whatever an instrument or a hand changes. */
export function openWorld(about: {
  readonly clock: VirtualClock
  readonly rng: Rng
  readonly changed: (before: Truth, after: Truth) => void
}): World {
  const { clock, rng } = about
  const ownRng = () => seededRng(Math.floor(rng() * 2 ** 32))
  const real = createPlant({ clock, rng: ownRng(), positions: RIGHT, warm: true, coverHz: 10 })
  const truth = (): Truth => {
    const { transmitting, terminalVolts } = real.observe()
    const { on, setVolts } = real.state().supply
    return { atMs: clock.nowMs(), on, setVolts, volts: terminalVolts, transmitting }
  }
  let laidOut = false
  const plant: Plant = {
    ...real,
    change: (alter) => {
      if (!laidOut) return real.change(alter)
      const before = truth()
      real.change(alter)
      about.changed(before, truth())
    },
  }
  const faults = createFaultBoard(clock, ownRng(), () => real.observe().transmitting)
  const around = () => ({ clock, rng: ownRng(), faults })
  const wire = (unit: SimulatedInstrument) => new Wire(unit, clock, ownRng())
  const wires = {
    power: wire(createPowerMeter(plant, around(), 'SIM0002')),
    volts: wire(createMultimeter(plant, around(), 'SIM0004')),
    supply: wire(createSupply(plant, around(), 'SIM0005')),
    oscillator: wire(createAudioOscillator(plant, around(), 'SIM0006')),
  }
  const set = createSimulatedSet(plant, ownRng())
  set.channel(20)
  set.prod('T1')
  set.common('strip')
  set.microphone('oscillator')
  set.load(true)
  laidOut = true
  return {
    set,
    wires,
    addresses: {
      power: 'memory:power',
      volts: 'memory:volts',
      supply: 'memory:supply',
      oscillator: 'memory:oscillator',
    },
    truth,
    netFor: (host) => ({
      connect: (name) => {
        if (name === 'power' || name === 'volts' || name === 'supply' || name === 'oscillator')
          return wires[name].connect(host)
        throw new TypeError(`there is no instrument "${name}" on this bench`)
      },
    }),
  }
}
