import type { Quantity, Unit } from '../../quantity/quantity.ts'

/** What a reply was: a number to be used, or a named state that is never turned into one. `stale`: the meter says that it holds an old value. */
export type ReadingState = 'good' | 'over' | 'under' | 'not a number' | 'blank' | 'no signal' | 'stale' | 'unreadable'

/** One value of one quantity, as the meter said it. Nothing is corrected here. */
export interface Reading {
  readonly quantity: Quantity
  /** Name on the bench, for example "power". */
  readonly instrument: string
  /** The epoch in force when the measurement began. */
  readonly epoch: number
  /** Bench clock, ms: when the question left, when the reply was complete. */
  readonly beganMs: number
  readonly arrivedMs: number
  /** The reply, unchanged. */
  readonly raw: string
  /** In the unit of the quantity; null unless `state` is good. */
  readonly value: number | null
  readonly state: ReadingState
  /** Where one reply carries several values of the quantity (both peaks of deviation); `value` is the larger. */
  readonly parts?: readonly number[]
}

/** What is known of a quantity's meter before its first reading: from the driver's row and the bench file. */
export interface MeterFacts {
  readonly quantity: Quantity
  readonly unit: Unit
  readonly instrument: string
  readonly driver: string
  /** Normal time from one reading to the next, and from a change to a reading that shows it, ms. */
  readonly everyMs: number
  readonly latencyMs: number
  /** How long after key-down the meter reads rubbish, ms (a modulation meter: 1000). 0: no rule of its own. */
  readonly recoverMs: number
  /** Gate of a counter, ms; 0 for other meters. A counter counts from the first gate that began after a change. */
  readonly gateMs: number
  /** Smallest step shown, in the unit of the quantity, at the meter (before path loss). */
  readonly step: number
  /** Usual standard deviation of one reading: relative to the reading, and a floor in the unit of the quantity. */
  readonly noise: { readonly ofReading: number; readonly floor: number }
  /** Lag-1 correlation of a smoothed meter, 0 to 0.95. */
  readonly smoothing: number
  /** Limits of error of the meter, from its data sheet: relative to the reading, and a floor in the unit of the quantity. */
  readonly accuracy: { readonly ofReading: number; readonly floor: number }
  /** dB between the set and the meter; a reading at the meter is multiplied by 10^(loss/10). 0 where there is none. */
  readonly pathLossDb: number
  /** Within how many dB the loss is known, either way; absent where nobody said. */
  readonly pathLossUncertaintyDb?: number | undefined
  /** Standing wave ratios that a power is reckoned with, of the set and of what it is plugged into; absent where nobody said. */
  readonly vswr?: { readonly set: number; readonly meter: number } | undefined
  /** Input resistance, ohm; null where it does not matter. */
  readonly inputOhms: number | null
  /** Whether the input is isolated from the computer link; yes wherever that cannot short anything. */
  readonly inputIsolated: 'yes' | 'no' | 'unknown'
  /** Read by a person and typed in. */
  readonly typed: boolean
}
