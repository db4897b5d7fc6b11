import { BenchError } from '../fault/bench-error.ts'
import type { SupplyState } from '../schema/keeper-message.ts'
import type { Supply } from './supply.ts'

/** A bench without a programmable supply: meters can be watched, every order is refused with KEEPER_REFUSED. */
export function noSupply(benchName: string, simulated: boolean): Supply {
  const unknown: SupplyState = {
    beganMs: 0,
    atMs: 0,
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
  const refuse = () =>
    Promise.reject(new BenchError('KEEPER_REFUSED', benchName, 'no instrument of this bench is a programmable supply'))
  const never = () => () => {}
  return {
    identity: '',
    simulated,
    latest: () => unknown,
    wish: () => ({ live: false, limits: refuse, set: refuse, on: refuse }),
    normal: () => Promise.resolve(unknown), // nothing was raised, so there is nothing to bring back
    safe: () => Promise.resolve(unknown),
    onState: never,
    onActed: never,
    onGone: never,
    close: () => Promise.resolve(),
  }
}
