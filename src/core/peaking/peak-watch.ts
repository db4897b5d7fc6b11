import type { Unit } from '../../quantity/quantity.ts'

/** How a top is found with a meter too slow or too noisy to turn by: nudge, hands still, read, count, and halve. */
export interface NudgeRule {
  /** So many readings make the level of one place, */
  readonly readings: number
  /** whose standard error is then this, dB. */
  readonly sigmaDb: number
  /** Fallen this far below the best on both sides, the middle between them is the top. */
  readonly dropDb: number
}

/** What the hand is to do next: `size` tenths of a turn, the way it went or the other way. */
export interface NudgeOrder {
  /** From 1; a new number is a new nudge. */
  readonly number: number
  readonly size: number
  readonly back: boolean
}

/** What is remembered between readings while nudging. Places are counted in nudges of about a tenth of a turn. */
export interface Nudging {
  readonly order: NudgeOrder
  /** Places read since the hand last turned back, in the order read. */
  readonly sweep: readonly Place[]
  readonly way: 1 | -1
  readonly at: number
  /** When the nudge was asked for, or null once it is made; since when readings of this place are taken, s. */
  readonly askedAtS: number | null
  readonly sinceS: number | null
  readonly read: readonly { readonly atS: number; readonly db: number }[]
  /** Going home to the middle: the level at the place before, dB; null while sweeping. */
  readonly home: { readonly beforeDb: number; readonly tries: number } | null
}

export interface Place {
  readonly at: number
  readonly db: number
}

export const NO_NUDGING: Nudging = {
  order: { number: 0, size: 0, back: false },
  sweep: [],
  way: 1,
  at: 0,
  askedAtS: null,
  sinceS: null,
  read: [],
  home: null,
}

/** One reading as the jump watch hears it; amperes from the supply, null where not known. */
export interface Heard {
  readonly db: number
  readonly amps: number | null
}

/** A jump of the level with a jump of the supply current: from where, when, which way. */
export interface Jump {
  readonly db: number
  readonly amps: number
  readonly atS: number
  readonly up: boolean
}

/** How a peak (or a dip) is told from noise, in dB of the quantity as `dbOf` counts them. */
export interface PeakRule {
  /** Fallen this far below the best it is passed over; risen this far over the lowest the direction is proved. */
  readonly overDb: number
  /** Back within this of the best it is at its best. */
  readonly backDb: number
  /** The best leaks at this rate while the set heats, dB/s: droop makes a remembered best slowly untrue. */
  readonly leakDbPerS: number
  /** Usual sigma of one reading, dB. */
  readonly sigmaDb: number
  readonly latencyS: number
  readonly dip: boolean
  readonly unit: Unit
  /** A dip this low, in the unit of the quantity, is as low as the meter can tell; null where there is no such floor. */
  readonly floor: number | null
  /** The meter follows the usual hand; if not, it should turn slowly near the top. */
  readonly quick: boolean
  /** False: the meter is too slow or too noisy to turn and watch at all; nudge, wait, count. */
  readonly continuous: boolean
  readonly nudge: NudgeRule
  /** The meter's display step, in the unit of the quantity at the set; 0 where it is not known. */
  readonly step: number
}

/**
 * - start: no direction yet; climb: turning, not (or no longer) known to fall; wrong way: fell without having risen
 * - passed over: the top was crossed, turn back; return: on the way back to it; at best: within the return window again
 * - snap: a jump with a jump of supply current: instability or a slipped core, not a best
 * - nudge: a nudge is asked for; wait: hands still until the place is read (meters that cannot be turned by)
 */
export type PeakPhase =
  | 'start'
  | 'climb'
  | 'wrong way'
  | 'passed over'
  | 'return'
  | 'at best'
  | 'snap'
  | 'nudge'
  | 'wait'

/** Where the hand is against the best it has found. dB are as good as high: for a dip they count downward. */
export interface PeakWatch {
  readonly phase: PeakPhase
  readonly bestDb: number
  readonly belowDb: number
  readonly fromStartDb: number
  /** This way is up: risen by the pass-over amount over the lowest since the last reversal. */
  readonly proved: boolean
  /** This reading is a better one than any before, by more than its noise. */
  readonly newBest: boolean
  /** Returns that went over the top again without coming near enough to the best. */
  readonly failedReturns: number
  /** What the meter showed at the best, in the unit of the quantity; NaN before the first. */
  readonly bestValue: number
  /** Near the top, with a meter that lags: turn slowly. */
  readonly slowly: boolean
  /**
   * nothing: turned without any effect since the start; stop: risen to where nothing changes any more, as at the end of the
   * travel: a top there is no peak
   */
  readonly flat: 'no' | 'nothing' | 'stop'
  /** A second top, lower or higher than the best, in the unit of the quantity: the core goes through both ends of its coil. Else null. */
  readonly otherTop: number | null
  /** How often it said "turn back"; a page plays each once. */
  readonly turnBacks: number
  readonly memory: PeakMemory
}

/** What the guide remembers between readings. */
export interface PeakMemory {
  /** The newest readings, at most three, for the running median and for jumps. */
  readonly recent: readonly Heard[]
  readonly lastAtS: number | null
  readonly startDb: number
  /** The best last announced. */
  readonly announcedDb: number
  /** dB that heat has taken from the level so far, as reckoned. */
  readonly heatDb: number
  /** The top was crossed at least once. */
  readonly crossed: boolean
  /** The carrier went off while the hand was still on its way: being near the best then proves nothing yet. */
  readonly interrupted: boolean
  readonly leg: Leg
  /** Where a jump came from; null when there is none. */
  readonly snapFrom: (Jump & { readonly phase: PeakPhase }) | null
  readonly nudging: Nudging
  /** The level that has not changed by more than the return window, dB, and since when, s; null where nothing is known. */
  readonly still: { readonly db: number; readonly sinceS: number } | null
}

/** The stretch since the guide last said "turn back", or since the start. */
export interface Leg {
  /** first: nothing known; told: waiting for the hand to turn back; turned: it has. */
  readonly kind: 'first' | 'told' | 'turned'
  readonly lowDb: number
  readonly topDb: number
  /** When "turn back" was said and how low it was then. */
  readonly toldAtS: number
  readonly toldDb: number
}

export const NO_LEG: Leg = { kind: 'first', lowDb: Number.NaN, topDb: Number.NaN, toldAtS: 0, toldDb: Number.NaN }

export function startPeak(): PeakWatch {
  return {
    phase: 'start',
    bestDb: Number.NEGATIVE_INFINITY,
    belowDb: 0,
    fromStartDb: 0,
    proved: false,
    newBest: false,
    failedReturns: 0,
    bestValue: Number.NaN,
    slowly: false,
    flat: 'no',
    otherTop: null,
    turnBacks: 0,
    memory: {
      recent: [],
      lastAtS: null,
      startDb: Number.NaN,
      announcedDb: Number.NEGATIVE_INFINITY,
      heatDb: 0,
      crossed: false,
      interrupted: false,
      leg: NO_LEG,
      snapFrom: null,
      nudging: NO_NUDGING,
      still: null,
    },
  }
}
