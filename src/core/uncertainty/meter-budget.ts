import type { MeterFacts } from '../../schema/kept/reading.ts'
import { type Conditions, gainOf, sigmaOf } from './correction.ts'
import { mismatchOf } from './mismatch.ts'
import type { Budget, Part, Shape } from './uncertainty.ts'

/** What a value was made from: one reading, the mean of several, or that mean moved half way along its slope. */
export type MadeFrom = 'one reading' | 'mean' | 'line' | 'end of a line'

/** A value at the set, and the readings seen for it. */
export interface Seen {
  readonly value: number
  readonly from: MadeFrom
  /** Readings in the mean, 1 or more. */
  readonly count: number
  /** Their standard deviation (n - 1), in the unit of the value. */
  readonly spread: number
}

/** What can be said of a meter's doubt before its first reading: fixed with the rule of a step. */
export interface MeterDoubt {
  readonly facts: MeterFacts
  readonly conditions: Conditions
  /** Correlated readings count as so many fewer: (1+r)/(1-r). */
  readonly pileUp: number
  readonly rows: readonly Row[]
}

/** A part that grows with the value: half width = `ofReading` x value + `floor`, at the set. */
interface Row {
  readonly name: string
  readonly shape: Shape
  readonly ofReading: number
  readonly floor: number
  readonly shared: string | null
}

/** Fewer readings than these cannot tell their own spread. */
const LEAST_SEEN = 3
/** How well the loading of a test point is known, of the correction: a resistor of 5 % and a meter's input of 1 % (common practice). */
const LOADING_KNOWN = 0.06
/** What a step usually has in its mean when it settles. */
const USUAL_S = 2.5

/** The parts that do not depend on the reading: limits of error (of a counter its time base), display step, path loss, mismatch, loading. */
export function meterDoubt(facts: MeterFacts, conditions: Conditions = {}): MeterDoubt {
  const { accuracy, step, smoothing, instrument, driver, quantity, pathLossDb, pathLossUncertaintyDb, vswr } = facts
  const gain = gainOf(facts, conditions)
  const meter = `${instrument} (${driver})`
  const path = `path to ${meter}, ${pathLossDb} dB`
  const rows: Row[] = [
    {
      name: quantity === 'frequency' ? 'time base' : 'meter accuracy',
      shape: 'rectangular',
      ofReading: accuracy.ofReading,
      floor: accuracy.floor * gain,
      shared: `accuracy of ${meter}`,
    },
    { name: 'display step', shape: 'rectangular', ofReading: 0, floor: (step * gain) / 2, shared: null },
  ]
  if (quantity === 'RF power') {
    if (pathLossUncertaintyDb !== undefined && pathLossUncertaintyDb > 0)
      rows.push(shareOf('path loss', 'rectangular', 10 ** (pathLossUncertaintyDb / 10) - 1, path))
    if (vswr && vswr.set > 1 && vswr.meter > 1)
      rows.push(shareOf('mismatch', 'U-shaped', mismatchOf(vswr.set, vswr.meter).halfWidth, `mismatch, ${path}`))
  } else if (gain > 1)
    rows.push(shareOf('loading', 'rectangular', (1 - 1 / gain) * LOADING_KNOWN, `loading by ${meter}, x ${gain}`))
  const r = Math.min(0.95, Math.max(0, smoothing))
  return { facts, conditions, pileUp: (1 + r) / (1 - r), rows: rows.filter((row) => row.ofReading + row.floor > 0) }
}

function shareOf(name: string, shape: Shape, ofReading: number, shared: string): Row {
  return { name, shape, ofReading, floor: 0, shared }
}

/** The budget of one value: the meter's own parts at that value, and the noise of the readings it was made from. `more`: parts that the step adds, such as `leadPart`. */
export function budgetOf(doubt: MeterDoubt, seen: Seen, more: Budget = []): Budget {
  const { value } = seen
  const budget: Part[] = [...more]
  for (const { name, shape, ofReading, floor, shared } of doubt.rows) {
    const size = ofReading * value + (value < 0 ? -floor : floor)
    budget.push({ name, shape, size, freedom: Number.POSITIVE_INFINITY, shared })
  }
  budget.push(noiseOf(doubt, seen))
  return budget
}

/**
 * Noise of the value. Of a mean the spread that was seen (GUM 4.2, n - 1 degrees of freedom); where too few readings of their own were
 * seen, and of a single reading, what the driver states.
 */
function noiseOf({ facts, conditions, pileUp }: MeterDoubt, seen: Seen): Part {
  const stated = sigmaOf(seen.value, facts, conditions)
  // smoothing spreads one noise over several readings: they count as fewer, and their spread is too small by as much
  const own = Math.max(1, seen.count / pileUp)
  const told = own >= LEAST_SEEN && Number.isFinite(seen.spread)
  const counted = told || (stated === 0 && seen.count >= LEAST_SEEN && Number.isFinite(seen.spread))
  if (seen.from === 'one reading' && (stated > 0 || !counted)) return noise('noise of a reading', stated, Infinity)
  const narrow = Math.sqrt((seen.count - 1) / Math.max(1, seen.count - pileUp))
  const sigma = counted ? seen.spread * narrow : stated
  const freedom = counted ? Math.max(1, own - 1) : Number.POSITIVE_INFINITY
  if (seen.from === 'one reading') return noise('noise of a reading', sigma, freedom)
  const mean = sigma / Math.sqrt(own)
  return noise('noise of the mean', mean * carried(seen), freedom)
}

function noise(name: string, size: number, freedom: number): Part {
  return { name, shape: 'normal', size, freedom, shared: null }
}

/** What a mean's own error grows by when it is carried along its slope. */
function carried({ from, count }: Seen): number {
  return from === 'line' ? halfWayUp(count) : from === 'end of a line' ? allTheWayUp(count) : 1
}

/** To the newest of n evenly spaced readings: 1 + 3 (n-1)/(n+1) of its variance. */
function allTheWayUp(count: number): number {
  return Math.sqrt(1 + (3 * (count - 1)) / (count + 1))
}

/** A mean moved half way along its own slope carries the slope's error too: of n evenly spaced readings 1 + 3/4 (n-1)/(n+1) of its variance. */
function halfWayUp(count: number): number {
  return Math.sqrt(1 + (0.75 * (count - 1)) / (count + 1))
}

/** What is known before the first reading of a value of a step: noise as the driver states it, in a mean of as many readings as are usual. */
export function beforehand({ facts }: MeterDoubt, value: number): Seen {
  const count = Math.max(LEAST_SEEN, Math.floor((USUAL_S * 1000) / Math.max(1, facts.everyMs)))
  return { value, from: facts.typed ? 'one reading' : 'line', count: facts.typed ? 1 : count, spread: Number.NaN }
}

/** Volts at a plug reckoned from those at a supply: the lead's resistance known to within so many ohm, at so many ampere. */
export function leadPart({ withinOhms, amps }: { readonly withinOhms: number; readonly amps: number }): Part {
  return {
    name: 'supply lead',
    shape: 'rectangular',
    size: withinOhms * amps,
    freedom: Number.POSITIVE_INFINITY,
    shared: null,
  }
}
