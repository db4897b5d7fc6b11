import type { SupplyReadBack } from '../../src/instrument/supply-port.ts'

/** A supply with a radio on it, as simple as can be: first-order volts, two load currents, a limit, a latching trip. */
export interface SupplyModel {
  setVolts: number
  limitAmps: number
  tripVolts: number
  on: boolean
  tripped: boolean
  volts: number
  /** The set draws its transmit current. */
  keyed: boolean
  /** A dead short at the output. */
  short: boolean
  /** The output does not come above this, and nothing says why. */
  clampVolts: number
  nowMs: number
  /** Every command it took, with the measured volts at that time. */
  readonly log: { readonly atMs: number; readonly what: string; readonly volts: number }[]
}

export const RECEIVE_AMPS = 0.3
export const KEYED_AMPS = 1.24
const TAU_MS = 20

export function supplyModel(): SupplyModel {
  return {
    setVolts: 0,
    limitAmps: 5,
    tripVolts: 22,
    on: false,
    tripped: false,
    volts: 0,
    keyed: false,
    short: false,
    clampVolts: Number.POSITIVE_INFINITY,
    nowMs: 0,
    log: [],
  }
}

/** Current that the load wants. */
function loadAmps(model: SupplyModel): number {
  if (model.short) return 50
  if (model.volts < 8) return model.volts / 200 // below its working voltage a radio draws little
  return model.keyed ? KEYED_AMPS : RECEIVE_AMPS
}

function limiting(model: SupplyModel): boolean {
  return model.on && loadAmps(model) > model.limitAmps
}

/** Lets time pass up to `nowMs`. */
export function run(model: SupplyModel, nowMs: number): void {
  const dtMs = nowMs - model.nowMs
  if (dtMs <= 0) return
  model.nowMs = nowMs
  const regulated = model.on ? model.setVolts : 0
  const wanted = model.short ? 0.05 : limiting(model) ? (regulated * model.limitAmps) / loadAmps(model) : regulated
  const goal = Math.min(wanted, model.clampVolts)
  model.volts = goal + (model.volts - goal) * Math.exp(-dtMs / TAU_MS)
  if (model.on && model.volts > model.tripVolts) {
    model.on = false
    model.tripped = true
  }
}

export function look(model: SupplyModel, beganMs: number, atMs: number): SupplyReadBack {
  run(model, atMs)
  const amps = model.on ? Math.min(loadAmps(model), model.limitAmps) : 0
  return {
    beganMs,
    atMs,
    volts: model.volts,
    amps,
    rawAmps: amps.toExponential(),
    output: model.on ? 'on' : 'off',
    regulation: !model.on ? 'none' : limiting(model) ? 'current' : 'voltage',
    tripped: model.tripped,
    setVolts: model.setVolts,
    limitAmps: model.limitAmps,
  }
}

export type Command =
  | { readonly do: 'off' | 'on' }
  | { readonly do: 'volts' | 'trip'; readonly volts: number }
  | { readonly do: 'amps'; readonly amps: number }

/** Takes a command. Returns why not, as an instrument's error queue would say it. */
export function command(model: SupplyModel, one: Command, atMs: number): string | null {
  run(model, atMs)
  const value = 'volts' in one ? ` ${one.volts}` : 'amps' in one ? ` ${one.amps}` : ''
  model.log.push({ atMs, what: `${one.do}${value}`, volts: model.volts })
  switch (one.do) {
    case 'off':
      model.on = false
      return null
    case 'on':
      if (model.tripped) return '-200,"Execution error; output tripped"'
      model.on = true
      return null
    case 'amps':
      model.limitAmps = one.amps
      return null
    case 'trip':
      if (model.setVolts > one.volts) return '-221,"Settings conflict"'
      model.tripVolts = one.volts
      return null
    case 'volts':
      if (one.volts > model.tripVolts) return '-221,"Settings conflict"'
      model.setVolts = one.volts
      return null
  }
}
