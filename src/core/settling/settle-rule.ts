import type { Quantity } from '../../quantity/quantity.ts'
import type { MeterFacts } from '../../schema/kept/reading.ts'
import { gainOf } from '../uncertainty/correction.ts'

/** What "settled" means for one quantity on one meter; values in the unit of the quantity, at the set. */
export interface SettleRule {
  /** The change that does not matter: at least this much, */
  readonly delta: number
  /** and at least this share of the reading (peaking: 0.05 dB, whatever the level). */
  readonly deltaOfReading: number
  /** How long a captured value must stay true to within delta, s. */
  readonly trueForS: number
  /** Usual standard deviation of one reading: a floor, and a share of the reading; both 0 where the driver does not say. */
  readonly sigma: number
  readonly sigmaOfReading: number
  /** Display step. */
  readonly step: number
  /** Lag-1 correlation of the meter's noise, 0 to 0.95. */
  readonly smoothing: number
  /** Normal time from one reading to the next, and from a change to a reading that shows it, s. */
  readonly everyS: number
  readonly latencyS: number
}

/** Peaking: 0.05 dB matters. A ratio of powers, of amplitudes, and for a reading that is in dB already. */
const PEAK_DB = 0.05
/** SINAD near its maximum is rough by 0.4 dB a reading; half a dB is what its table of noise allows. */
const PEAK_OF_DB = 0.5

/** Builds the rule from the half width h of the tolerance band, or null for a peak, and what is known of the meter. */
export function settleRule(about: {
  readonly halfWidth: number | null
  readonly facts: MeterFacts
  readonly quantity?: Quantity
}): SettleRule {
  const { halfWidth, facts } = about
  const gain = gainOf(facts)
  const step = facts.step * gain
  const inDb = facts.unit === 'dB'
  const matters = halfWidth === null ? (inDb ? PEAK_OF_DB : 0) : halfWidth / 4
  return {
    delta: Math.max(matters, 2 * step),
    deltaOfReading: halfWidth === null && !inDb ? 10 ** (PEAK_DB / (facts.unit === 'W' ? 10 : 20)) - 1 : 0,
    trueForS: trueForS(about.quantity ?? facts.quantity),
    sigma: facts.noise.floor * gain,
    sigmaOfReading: facts.noise.ofReading,
    step,
    smoothing: Math.min(0.95, Math.max(0, facts.smoothing)),
    everyS: facts.everyMs / 1000,
    latencyS: facts.latencyMs / 1000,
  }
}

/** How long an answer must stay true, s: frequency drifts slowly and is written down, audio is read and left. */
export function trueForS(quantity: Quantity): number {
  switch (quantity) {
    case 'frequency':
      return 10
    case 'SINAD':
    case 'audio level':
    case 'audio distortion':
      return 3
    case 'RF power':
    case 'FM deviation':
    case 'AM depth':
    case 'DC voltage':
    case 'DC current':
    case 'audio tone':
    case 'RF level':
    case 'signal meter':
      return 5
    default:
      return quantity satisfies never
  }
}
