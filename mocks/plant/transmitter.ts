import type { RadioParameters } from './parameters.ts'

/** Centre of the tuned stages, Hz: channel 20. */
export const STAGE_CENTRE_HZ = 27.205e6

/** Where the two slugs stand, turns from the right place. */
export interface Slugs {
  readonly driverTurns: number
  readonly outputTurns: number
}

/** What the final could give, W, before the power loop (3.3). `plugVolts` at the radio, `heatKelvin` of the final above its surroundings. */
export function unlimitedWatts(
  radio: RadioParameters,
  plugVolts: number,
  slugs: Slugs,
  channelHz = STAGE_CENTRE_HZ,
  heatKelvin = 0,
): number {
  const off = (channelHz - STAGE_CENTRE_HZ) / STAGE_CENTRE_HZ
  const x1 = radio.driverPerTurn * slugs.driverTurns + 2 * radio.driverQ * off
  const x2 = radio.outputPerTurn * slugs.outputTurns + 2 * radio.outputQ * off
  const k = 1 + radio.couplingSquared
  const gain = (k * k) / ((k - x1 * x2) ** 2 + (x1 + x2) ** 2)
  const lift = Math.max((plugVolts - radio.driveFromVolts) / (13.8 - radio.driveFromVolts), 0)
  const drive = radio.driveAtNormal * radio.driveShare * lift ** 2 * gain
  const swing = Math.max(plugVolts - radio.saturationVolts, 0)
  return radio.wattsPerVoltSquared * swing ** 2 * (1 - Math.exp(-drive)) * (1 - radio.powerPerKelvin * heatKelvin)
}

/** What the FM power preset asks for, W; `preset` 0..1 is 0..270 degrees. */
export function presetWatts(radio: RadioParameters, preset: number): number {
  return radio.presetLeastWatts + radio.presetSpanWatts * preset
}

/** What the AM carrier preset asks for, W. */
export function carrierPresetWatts(radio: RadioParameters, preset: number): number {
  return radio.carrierLeastWatts + radio.carrierSpanWatts * preset
}

/** The loop takes the smaller of what is asked and what there is, with a soft knee (3.3). */
export function loopWatts(radio: RadioParameters, availableWatts: number, askedWatts: number): number {
  if (!radio.loopWorks || availableWatts <= 0) return availableWatts
  return availableWatts * (1 + (availableWatts / askedWatts) ** radio.loopKnee) ** (-1 / radio.loopKnee)
}

/** Supply current while transmitting, A; `watts` at the detector. Without a load the final draws a part of it. */
export function transmitAmps(radio: RadioParameters, watts: number, loaded = true): number {
  const final = radio.ampsPerRootWatt * Math.sqrt(watts) * (loaded ? 1 : radio.unloadedShare)
  return radio.receiveAmps + radio.driverAmps + final
}

/** Where transmitter, lead and supply agree. */
export interface TransmitPoint {
  readonly plugVolts: number
  /** What the stage could give, before the loop. */
  readonly availableWatts: number
  /** At the detector, before the loss of the common path. */
  readonly detectorWatts: number
  /** Into the load at the aerial socket; 0 without one. */
  readonly watts: number
  readonly amps: number
  /** Turned into heat in the set. */
  readonly heatWatts: number
}

/**
 * Solves plug voltage, power and current for a voltage at the supply's terminals (3.3, by iteration). Without a load the
 * stage makes its power all the same, all of it comes back, and it ends as heat.
 */
export function transmitPoint(
  radio: RadioParameters,
  terminalVolts: number,
  slugs: Slugs,
  askedWatts: number,
  channelHz = STAGE_CENTRE_HZ,
  heatKelvin = 0,
  loaded = true,
): TransmitPoint {
  let plugVolts = terminalVolts
  let availableWatts = 0
  let detectorWatts = 0
  let amps = 0
  for (let turn = 0; turn < MOST_ITERATIONS; turn += 1) {
    availableWatts = unlimitedWatts(radio, plugVolts, slugs, channelHz, heatKelvin)
    detectorWatts = loopWatts(radio, availableWatts, askedWatts)
    amps = transmitAmps(radio, detectorWatts, loaded)
    const next = terminalVolts - radio.leadOhm * amps
    const settled = Math.abs(next - plugVolts) < SOLVED_VOLTS
    plugVolts = next
    if (settled) break
  }
  return {
    plugVolts,
    availableWatts,
    detectorWatts,
    watts: loaded ? detectorWatts * 10 ** (-radio.pathLossDb / 10) : 0,
    amps,
    heatWatts: plugVolts * amps - (loaded ? detectorWatts : 0),
  }
}

const MOST_ITERATIONS = 30
const SOLVED_VOLTS = 1e-9
