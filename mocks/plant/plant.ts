import type { Clock } from '../../src/system/clock.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { Positions } from './adjusters.ts'
import { END_TONE, keyingChangesInMs, keyMoved, stepKeying, wantsCarrier } from './keying.ts'
import type { Peaks } from './modulation.ts'
import {
  carrierHz,
  nominalHz,
  type Radio,
  type RadioPoint,
  radioAsFound,
  radioControlVolts,
  radioDepth,
  radioDeviation,
  radioPoint,
  socketWatts,
  warmRadio,
} from './radio.ts'
import { type RadioFaultName, withFaults } from './radio-faults.ts'
import { isMoving, powerOnState, type SupplyOutput, stepSupply } from './supply-output.ts'
import { createVoice, type Voice } from './voice.ts'

/** The audio oscillator's output, V r.m.s. at the microphone socket. */
export interface OscillatorOutput {
  hz: number
  volts: number
  on: boolean
}

/** The RF generator's output at the aerial socket: Hz, V across 50 ohm, peak deviation in Hz, depth as a ratio. */
export interface GeneratorOutput {
  hz: number
  volts: number
  deviationHz: number
  depth: number
  on: boolean
}

/** Where the voltmeter's two leads are. */
export interface Leads {
  prod: 'plug' | 'T1' | 'off'
  common: 'strip' | 'case' | 'off'
}

/** Everything that couples: the radio, what feeds it, what is fed into it, where the meter's leads are. */
export interface PlantState {
  readonly radio: Radio
  readonly supply: SupplyOutput
  readonly oscillator: OscillatorOutput
  readonly generator: GeneratorOutput
  readonly leads: Leads
  readonly radioFaults: Set<RadioFaultName>
}

/** What can be measured at one moment. Powers in W, frequencies and deviations in Hz, depths as ratios. */
export interface Observation {
  readonly terminalVolts: number
  readonly amps: number
  readonly limiting: boolean
  readonly plugVolts: number
  /** The set works (display lit). */
  readonly working: boolean
  readonly transmitting: boolean
  /** At T1, before the meter loads it; 0 when the set is off. */
  readonly controlVolts: number
  /** Mean power into the load; 0 without a load or a carrier. */
  readonly loadWatts: number
  /** What a meter behind the load sees; null without a carrier there. */
  readonly carrierHz: number | null
  readonly nominalHz: number
  readonly deviation: Peaks
  readonly depth: Peaks
  /** 0: no tone. */
  readonly toneHz: number
  readonly prod: Leads['prod']
  readonly common: Leads['common']
}

/** Told of each piece of time in which conditions were constant, before time moves on. It must not ask the plant. */
export type Follower = (dtMs: number, during: Observation) => void

/** The simulated radio with its surroundings, brought forward lazily to the clock whenever somebody looks or turns something. */
export interface Plant {
  /** What can be measured now. */
  observe(): Observation
  /** Changes something now, after time has been brought up to now. */
  change(alter: (state: PlantState) => void): void
  /** For meters with a memory: lag, gate, peak detector. */
  follow(follower: Follower): void
  /** The state as it is, brought up to now. Read it, do not keep it, change it only through `change`. */
  state(): Readonly<PlantState>
}

export interface PlantSetting {
  readonly clock: Clock
  readonly rng: Rng
  readonly positions: Positions
  /** Warm already, as after half an hour on. */
  readonly warm: boolean
  /** What the cover does to the frequency, Hz. */
  readonly coverHz: number
}

/** A plant at the clock's present time, supply off. */
export function createPlant(setting: PlantSetting): Plant {
  const { clock, rng } = setting
  const radioFaults = new Set<RadioFaultName>()
  const state: PlantState = {
    radio: radioAsFound(withFaults(radioFaults), setting.positions, setting.warm, setting.coverHz),
    supply: powerOnState(),
    oscillator: { hz: 1000, volts: 0, on: false },
    generator: { hz: 27e6, volts: 0, deviationHz: 0, depth: 0, on: false },
    leads: { prod: 'off', common: 'off' },
    radioFaults,
  }
  const followers: Follower[] = []
  let nowMs = clock.nowMs()
  let worked = false
  const voice = createVoice(rng)

  const step = (dtMs: number): void => {
    const { radio, supply } = state
    const { point, terminalVolts, limiting } = solve(radio, supply)
    const during = observation(state, point, terminalVolts, limiting)
    for (const follower of followers) follower(dtMs, during)
    stepSupply(supply, terminalVolts, point.amps, limiting, dtMs)
    stepKeying(radio, point.working, point.transmit !== null, dtMs)
    voice.pass(dtMs)
    if (point.working) worked = true
    if (worked) warmRadio(radio, point, dtMs / 1000)
  }

  const bringUp = () => {
    const untilMs = clock.nowMs()
    while (untilMs - nowMs > LEAST_MS) {
      hear(state, voice)
      const dtMs = Math.min(untilMs - nowMs, longestStepMs(state, voice))
      step(dtMs)
      nowMs += dtMs
    }
  }

  return {
    observe: () => {
      bringUp()
      hear(state, voice)
      const { point, terminalVolts, limiting } = solve(state.radio, state.supply)
      return observation(state, point, terminalVolts, limiting)
    },
    change: (alter) => {
      bringUp()
      const { keyPressed } = state.radio
      alter(state)
      keyMoved(state.radio, keyPressed)
      state.radio.parameters = withFaults(state.radioFaults)
    },
    follow: (follower) => {
      bringUp()
      followers.push(follower)
    },
    state: () => {
      bringUp()
      return state
    },
  }
}

interface Solved {
  readonly point: RadioPoint
  readonly terminalVolts: number
  readonly limiting: boolean
}

/** The terminal voltage at which the radio draws no more than the limit allows; bisection, since the draw rises with the voltage. */
function solve(radio: Radio, supply: SupplyOutput): Solved {
  const free = radioPoint(radio, supply.regulatedVolts)
  if (!supply.on || free.amps <= supply.limitAmps)
    return { point: free, terminalVolts: supply.regulatedVolts, limiting: false }
  let low = 0
  let high = supply.regulatedVolts
  for (let turn = 0; turn < BISECTIONS; turn += 1) {
    const middle = (low + high) / 2
    if (radioPoint(radio, middle).amps <= supply.limitAmps) low = middle
    else high = middle
  }
  return { point: radioPoint(radio, low), terminalVolts: low, limiting: true }
}

function observation(state: PlantState, point: RadioPoint, terminalVolts: number, limiting: boolean): Observation {
  const { radio, supply } = state
  const transmit = point.transmit
  const depth = transmit ? radioDepth(radio, transmit) : SILENT
  const sidebands = 1 + ((depth.up + depth.down) / 2) ** 2 / 2
  const carrier = transmit !== null && radio.load
  return {
    terminalVolts,
    amps: supply.on ? point.amps : 0,
    limiting,
    plugVolts: point.plugVolts,
    working: point.working,
    transmitting: transmit !== null,
    controlVolts: point.working ? radioControlVolts(radio, wantsCarrier(radio)) : 0,
    loadWatts: carrier ? socketWatts(radio, transmit) * sidebands : 0,
    carrierHz: carrier ? carrierHz(radio) : null,
    nominalHz: nominalHz(radio),
    deviation: transmit ? radioDeviation(radio) : SILENT,
    depth,
    toneHz: radio.audioVolts > 0 ? radio.audioHz : 0,
    prod: state.leads.prod,
    common: state.leads.common,
  }
}

const SILENT: Peaks = { up: 0, down: 0 }

/** Pieces short enough that what changes inside them does not matter: the supply's slew, the final's heat, the peak detectors, the voice, the key. */
function longestStepMs({ supply, radio }: PlantState, voice: Voice): number {
  const ownMs = keyingChangesInMs(radio)
  if (isMoving(supply)) return Math.min(5, ownMs)
  if (supply.on && supply.regulatedVolts > supply.protectVolts) return Math.min(1, ownMs)
  if (wantsCarrier(radio)) return Math.min(100, ownMs, radio.microphone === 'own' ? voice.leftMs() : 100)
  return supply.on && supply.currentTrip ? 10 : Number.POSITIVE_INFINITY
}

/** What comes in at the microphone socket now; the set's own end-of-call tone takes its place. */
function hear({ radio, oscillator }: PlantState, voice: Voice): void {
  const sound = radio.microphone === 'own' ? voice.sound(radio.whistling) : SILENCE
  const bench = radio.microphone === 'oscillator' && oscillator.on ? oscillator : sound
  const { volts, hz } = radio.toneLeftMs > 0 ? END_TONE : bench
  radio.audioVolts = volts
  radio.audioHz = hz
}

const SILENCE = { volts: 0, hz: 1000 } as const

const LEAST_MS = 1e-6
const BISECTIONS = 45
