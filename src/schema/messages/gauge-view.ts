import type { Quantity } from '../../quantity/quantity.ts'
import type { Words } from '../../words/said/said.ts'

export interface ReadingView {
  readonly quantity: Quantity
  /** What the meter measures at the set, SI, corrected; null when there is no number. */
  readonly value: number | null
  /** The word to show instead of a number ("over range"), or "". */
  readonly word: Words
  /** "3.85" and "W": no more digits than the meter supports. */
  readonly digits: string
  readonly unit: string
  /** Service clock: when the reply was complete; the page adds its own time since. Nothing older than `oldAfterMs` is current. */
  readonly arrivedMs: number
  readonly ageMs: number
  readonly oldAfterMs: number
  readonly instrument: string
}

/** The slot. A band is -1..+1 in e; a peak's slot hangs at the best seen, `windowDb` wide on each side. */
export type SlotView =
  | {
      readonly kind: 'band'
      readonly lowLabel: string
      readonly highLabel: string
      readonly aimLabel: string
      /** Aim window in e. */
      readonly aimLowE: number
      readonly aimHighE: number
      /** A rule limit, at its own place; null where there is none. */
      readonly wallE: number | null
      readonly wallLabel: string
      /** Open on the good side: there is no edge to show there. */
      readonly openLow: boolean
      readonly openHigh: boolean
      /** The edges in the unit of the quantity; null where it is open. */
      readonly low: number | null
      readonly high: number | null
    }
  | {
      readonly kind: 'peak'
      readonly dip: boolean
      readonly windowDb: number
      readonly passOverDb: number
      readonly bestLabel: string
    }

/** The peg: where it is, how wide (its uncertainty), how ragged, how deep it has dropped (1: captured). */
export interface PegView {
  readonly e: number
  readonly halfE: number
  readonly ragged: number
  readonly drop: number
}

export interface PeakView {
  readonly fromStartDb: number
  readonly belowDb: number
  /** Typical sigma of one reading, dB. */
  readonly sigmaDb: number
  /** The direction of turning has been proved to go up. */
  readonly proved: boolean
  readonly round: number
  readonly rounds: number
  /** What the last whole round gained, dB; null before the first one is done. */
  readonly gainDb: number | null
  readonly adjuster: string
  /** In state nudge: how far, in tenths of a turn, and whether the other way; a new number is a new nudge. Absent otherwise. */
  readonly nudge?: { readonly number: number; readonly tenths: number; readonly back: boolean }
}
