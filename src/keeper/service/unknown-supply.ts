import type { SupplyState } from '../../schema/messages/keeper-message.ts'

/** A supply of which nobody can say what it does, at this time of the bench clock, ms. */
export function unknownSupply(atMs: number): SupplyState {
  return {
    beganMs: atMs,
    atMs,
    volts: null,
    amps: null,
    rawAmps: '',
    output: 'unknown',
    regulation: 'unknown',
    tripped: false,
    setVolts: null,
    limitAmps: null,
    moving: false,
    resting: 'safe',
  }
}
