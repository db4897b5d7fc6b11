import type { Quantity } from '../../quantity/quantity.ts'
import type { MeterFacts } from '../../schema/kept/reading.ts'

/** What stands between the set and the meter at this step. */
export interface Conditions {
  /** Resistance in series with the voltmeter at the test point, ohm. */
  readonly seriesOhms?: number
}

export interface Corrected {
  /** What the set gives, in the unit of the quantity. */
  readonly value: number
  /** Each correction in words with its factor, in the order made. */
  readonly chain: readonly string[]
}

type Factor = { readonly by: number; readonly words: string }

/** What the set gives, from what the meter shows: path loss for power, loading of a test point by the voltmeter for volts. */
export function correct(shown: number, facts: MeterFacts, conditions: Conditions = {}): Corrected {
  const factors = factorsOf(facts, conditions)
  return {
    value: factors.reduce((value, factor) => value * factor.by, shown),
    chain: factors.map((factor) => factor.words),
  }
}

/** Value at the set for each unit shown at the meter, for what the driver states at the meter (step, noise floor). */
export function gainOf(facts: MeterFacts, conditions: Conditions = {}): number {
  return factorsOf(facts, conditions).reduce((gain, factor) => gain * factor.by, 1)
}

/** Usual standard deviation of one reading near `value` (at the set), in the unit of the quantity. */
export function sigmaOf(value: number, facts: MeterFacts, conditions: Conditions = {}): number {
  return Math.hypot(facts.noise.ofReading * value, facts.noise.floor * gainOf(facts, conditions))
}

const LOST_ON_THE_WAY: ReadonlySet<Quantity> = new Set(['RF power'])
const LOADED: ReadonlySet<Quantity> = new Set(['DC voltage', 'audio level'])

function factorsOf(facts: MeterFacts, { seriesOhms }: Conditions): Factor[] {
  const factors: Factor[] = []
  if (LOST_ON_THE_WAY.has(facts.quantity) && facts.pathLossDb !== 0) {
    const by = 10 ** (facts.pathLossDb / 10)
    factors.push({ by, words: `path loss ${facts.pathLossDb} dB: x ${by.toPrecision(5)}` })
  }
  if (LOADED.has(facts.quantity) && seriesOhms !== undefined && seriesOhms > 0 && facts.inputOhms !== null) {
    const by = (facts.inputOhms + seriesOhms) / facts.inputOhms
    factors.push({ by, words: `${ohms(facts.inputOhms)} meter behind ${ohms(seriesOhms)}: x ${by.toPrecision(5)}` })
  }
  return factors
}

function ohms(value: number): string {
  if (value >= 1e6) return `${value / 1e6} Mohm`
  return value >= 1e3 ? `${value / 1e3} kohm` : `${value} ohm`
}
