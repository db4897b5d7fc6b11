import type { Adjuster, Positions } from './adjusters.ts'
import { type BandId, bandOf, channelHz } from './channels.ts'
import { type Keying, keyUp, wantsCarrier } from './keying.ts'
import { MENU_ARRIVES } from './menu.ts'
import { amDepths, audioPass, fmPeaksHz, type Peaks } from './modulation.ts'
import type { RadioParameters } from './parameters.ts'
import { referencePpm } from './reference-oscillator.ts'
import { controlVolts, isLocked } from './synthesiser.ts'
import { carrierPresetWatts, presetWatts, type TransmitPoint, transmitPoint } from './transmitter.ts'

/** What is on the microphone socket. */
export type Microphone = 'oscillator' | 'own' | 'nothing'
export type Mode = 'FM' | 'AM'

/** Everything about the simulated radio that can change, as one mutable record owned by the plant. */
export interface Radio extends Keying {
  parameters: RadioParameters
  positions: Record<Adjuster, number>
  /** Where the output core really is; differs from `positions.OK` only when it is loose. */
  outputCoreTurns: number
  band: BandId
  channel: number
  mode: Mode
  microphone: Microphone
  /** Somebody whistles and speaks loudly close to the set's own microphone. */
  whistling: boolean
  load: boolean
  cover: boolean
  /** The hand, or its tool, at this adjuster. */
  handNear: Adjuster | null
  /** What comes in at the microphone socket, V and Hz; 0 V is silence. */
  audioVolts: number
  audioHz: number
  ambientCelsius: number
  /** Above ambient: the board since switching on, the crystal by transmitting, the final. */
  warmKelvin: number
  keyedKelvin: number
  heatKelvin: number
  /** What the cover does to the frequency of this set, Hz. */
  coverHz: number
}

/** A radio with its adjusters where they were left. */
export function radioAsFound(parameters: RadioParameters, positions: Positions, warm: boolean, coverHz: number): Radio {
  return {
    ...keyUp({ ...MENU_ARRIVES }),
    parameters,
    positions: { ...positions },
    outputCoreTurns: positions.OK,
    band: 'cept',
    channel: 19,
    mode: 'FM',
    microphone: 'nothing',
    whistling: false,
    load: true,
    cover: false,
    handNear: null,
    audioVolts: 0,
    audioHz: 1000,
    ambientCelsius: 23,
    warmKelvin: warm ? parameters.warmUpKelvin : 0,
    keyedKelvin: 0,
    heatKelvin: 0,
    coverHz,
  }
}

/** The radio at one voltage at the supply's terminals. */
export interface RadioPoint {
  readonly plugVolts: number
  readonly amps: number
  /** Enough volts for the set to work. */
  readonly working: boolean
  /** null while receiving. */
  readonly transmit: TransmitPoint | null
}

/** Below this at the plug the set does not work, V. */
export const WORKS_FROM_VOLTS = 8

/** What the radio draws at a terminal voltage, and whether it transmits there. Rises with the voltage, so it can be bisected. */
export function radioPoint(radio: Radio, terminalVolts: number): RadioPoint {
  const { leadOhm, shuntOhm, reversed } = radio.parameters
  if (reversed) return reversedPoint(leadOhm, terminalVolts)
  if (!Number.isFinite(shuntOhm)) return soundPoint(radio, radio.parameters, terminalVolts)
  // Lead and leak together are, for the rest of the set, a lower voltage behind a lead of both in parallel.
  const share = shuntOhm / (shuntOhm + leadOhm)
  const behind = soundPoint(radio, { ...radio.parameters, leadOhm: leadOhm * share }, terminalVolts * share)
  return { ...behind, amps: behind.amps + behind.plugVolts / shuntOhm }
}

/** The polarity diode across the plug conducts and nothing else sees a voltage. */
function reversedPoint(leadOhm: number, terminalVolts: number): RadioPoint {
  const over = Math.max(0, terminalVolts - DIODE_VOLTS)
  const amps = over / (leadOhm + DIODE_OHM)
  return { plugVolts: terminalVolts - leadOhm * amps, amps, working: false, transmit: null }
}

const DIODE_VOLTS = 0.75
const DIODE_OHM = 0.05

function soundPoint(radio: Radio, p: RadioParameters, terminalVolts: number): RadioPoint {
  const plug = terminalVolts - p.leadOhm * p.receiveAmps
  if (plug < WORKS_FROM_VOLTS) {
    // Its regulators open one after the other: 42 mA at 3 V, all of the receive current where it begins to work.
    const amps = p.receiveAmps * (terminalVolts / (WORKS_FROM_VOLTS + p.leadOhm * p.receiveAmps)) ** 2
    return { plugVolts: terminalVolts - p.leadOhm * amps, amps, working: false, transmit: null }
  }
  if (wantsCarrier(radio) && isLocked(p, radioControlVolts(radio, true))) {
    const point = transmitPoint(
      p,
      terminalVolts,
      { driverTurns: radio.positions.DK, outputTurns: radio.outputCoreTurns },
      askedWatts(radio),
      nominalHz(radio),
      radio.heatKelvin,
      radio.load,
    )
    if (point.plugVolts >= WORKS_FROM_VOLTS)
      return { plugVolts: point.plugVolts, amps: point.amps, working: true, transmit: point }
  }
  return { plugVolts: plug, amps: p.receiveAmps, working: true, transmit: null }
}

/** Nominal frequency of the channel in use, Hz. */
export function nominalHz(radio: Radio): number {
  return channelHz(radio.band, radio.channel)
}

/** The synthesiser's control voltage, V, before the voltmeter loads it. */
export function radioControlVolts(radio: Radio, transmit: boolean): number {
  const band = bandOf(radio.band)
  const p = radio.parameters
  const inBand =
    band.fixedFarad === 0
      ? p
      : {
          ...p,
          fixedFarad: p.fixedFarad + band.fixedFarad,
          transmitFarad: p.transmitFarad + (p.transmitFarad > 0 ? band.transmitFarad : 0),
        }
  return controlVolts(
    inBand,
    nominalHz(radio),
    transmit,
    radio.positions.VK,
    radio.ambientCelsius + radio.warmKelvin - 25,
  )
}

/** The transmitted frequency, Hz: reference, cover and hand included. */
export function carrierHz(radio: Radio): number {
  const crystal = radio.ambientCelsius + radio.warmKelvin + radio.keyedKelvin
  const ppm = referencePpm(radio.parameters, radio.positions.RT, crystal)
  const handHz = radio.handNear === 'RT' ? HAND_ON_TRIMMER_HZ : 0
  return nominalHz(radio) * (1 + ppm * 1e-6) + (radio.cover ? radio.coverHz : 0) + handHz
}

/** Carrier power at the aerial socket, W, with the hand's influence. */
export function socketWatts(radio: Radio, point: TransmitPoint): number {
  return point.watts * (radio.handNear === 'OK' ? 10 ** (-HAND_ON_OUTPUT_DB / 10) : 1)
}

/** Peak deviation, Hz; 0 in AM except the residual. */
export function radioDeviation(radio: Radio): Peaks {
  const p = radio.parameters
  if (radio.mode === 'AM') return { up: p.residualHz, down: p.residualHz }
  const pass = audioPass(radio.audioHz)
  const peaks = fmPeaksHz(p, radio.audioVolts * pass.before, radio.positions.PD, radioControlVolts(radio, true))
  return { up: peaks.up * pass.behind + p.residualHz, down: peaks.down * pass.behind + p.residualHz }
}

/** AM depth as ratios; 0 in FM. */
export function radioDepth(radio: Radio, point: TransmitPoint): Peaks {
  if (radio.mode === 'FM') return { up: 0, down: 0 }
  const pass = audioPass(radio.audioHz)
  return amDepths(
    radio.parameters,
    radio.audioVolts * pass.before,
    radio.positions.PM * pass.behind,
    point.detectorWatts,
    point.availableWatts,
  )
}

function askedWatts(radio: Radio): number {
  return radio.mode === 'FM'
    ? presetWatts(radio.parameters, radio.positions.PW)
    : carrierPresetWatts(radio.parameters, radio.positions.PC)
}

/** A hand or tool at RT pulls the frequency; at OK it costs a little power (common practice). */
const HAND_ON_TRIMMER_HZ = -20
const HAND_ON_OUTPUT_DB = 0.05

/** Brings the radio's temperatures `seconds` further, with conditions constant (3.2, 3.3). */
export function warmRadio(radio: Radio, point: RadioPoint, seconds: number): void {
  const p = radio.parameters
  const toward = (from: number, to: number, tau: number) => to + (from - to) * Math.exp(-seconds / tau)
  radio.warmKelvin = toward(radio.warmKelvin, point.working ? p.warmUpKelvin : 0, p.warmUpSeconds)
  radio.keyedKelvin = toward(radio.keyedKelvin, point.transmit ? p.keyedKelvin : 0, p.keyedSeconds)
  radio.heatKelvin = toward(
    radio.heatKelvin,
    point.transmit ? p.heatKelvinPerWatt * point.transmit.heatWatts : 0,
    p.heatSeconds,
  )
}
