import type { Quantity } from '../../quantity/quantity.ts'
import type { KeptFacts } from './evidence.ts'

/** What a reply was: a number to be used, or a named state that is never turned into one. `stale`: the meter says that it holds an old value. */
export type ReadingState = 'good' | 'over' | 'under' | 'not a number' | 'blank' | 'no signal' | 'stale' | 'unreadable'

/** One value of one quantity, as the meter said it. Nothing is corrected here. */
export interface Reading {
  readonly quantity: Quantity
  /** Name on the bench, for example "power". */
  readonly instrument: string
  /** Of that instrument, where the bench file gives it one: which of several meters of the quantity it is. */
  readonly role?: string
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
export type MeterFacts = Readonly<KeptFacts>
