/** The power side of the simulated supply: what its regulator, its output capacitor and its trips do. */
export interface SupplyOutput {
  setVolts: number
  limitAmps: number
  protectVolts: number
  /** Trip instead of limiting, after 50 ms in current limit. */
  currentTrip: boolean
  on: boolean
  tripped: 'no' | 'voltage' | 'current'
  /** On the output capacitor, before any current limit. */
  regulatedVolts: number
  /** Time spent in current limit, ms. */
  limitingMs: number
}

/** As it is after power-on: output off, 0 V, full limit, trip wide open (the usual reset state). */
export function powerOnState(): SupplyOutput {
  return {
    setVolts: 0,
    limitAmps: SUPPLY_RANGE.amps,
    protectVolts: SUPPLY_RANGE.protectVolts,
    currentTrip: false,
    on: false,
    tripped: 'no',
    regulatedVolts: 0,
    limitingMs: 0,
  }
}

/** The most it can be set to. */
export const SUPPLY_RANGE = { volts: 20, amps: 5, protectVolts: 22 } as const

/** Still on its way to what was set. */
export function isMoving(supply: SupplyOutput): boolean {
  return Math.abs(supply.regulatedVolts - targetVolts(supply)) > ARRIVED_VOLTS
}

/**
 * `dtMs` further, with `amps` drawn: 95 % of a rise within 50 ms; a fall no faster than the output capacitor gives up
 * its charge to the load and a small sink, so that an unloaded output takes seconds. Trips on the way.
 */
export function stepSupply(
  supply: SupplyOutput,
  terminalVolts: number,
  amps: number,
  limiting: boolean,
  dtMs: number,
): void {
  const target = targetVolts(supply)
  const wanted = target + (supply.regulatedVolts - target) * Math.exp(-dtMs / SLEW_MS)
  const lowest = supply.regulatedVolts - ((amps + SINK_AMPS) / OUTPUT_FARAD) * (dtMs / 1000)
  supply.regulatedVolts = Math.max(0, wanted, lowest)
  if (!isMoving(supply)) supply.regulatedVolts = target
  if (!supply.on) return
  supply.limitingMs = limiting ? supply.limitingMs + dtMs : 0
  if (terminalVolts > supply.protectVolts) trip(supply, 'voltage')
  else if (supply.currentTrip && supply.limitingMs >= CURRENT_TRIP_MS) trip(supply, 'current')
}

function trip(supply: SupplyOutput, cause: 'voltage' | 'current'): void {
  supply.tripped = cause
  supply.on = false
  supply.limitingMs = 0
}

function targetVolts(supply: SupplyOutput): number {
  return supply.on ? supply.setVolts : 0
}

const SLEW_MS = 50 / 3
const SINK_AMPS = 0.02
const OUTPUT_FARAD = 4.7e-3
const CURRENT_TRIP_MS = 50
const ARRIVED_VOLTS = 5e-4
