import type { Supply } from '../../../src/keeper/service/supply.ts'
import type { SupplyState } from '../../../src/schema/messages/keeper-message.ts'

export const SUPPLY_AT_REST: SupplyState = {
  beganMs: 0,
  atMs: 0,
  volts: 13.8,
  amps: 0.3,
  rawAmps: '+3.000E-01',
  output: 'on',
  regulation: 'voltage',
  tripped: false,
  setVolts: 13.8,
  limitAmps: 2.5,
  moving: false,
  resting: 'normal',
}

/** A keeper's client without a keeper: states are pushed by the test. */
export function fakeSupply(
  simulated: boolean,
): Supply & { push(state: Partial<SupplyState>): void; readonly listening: number } {
  const listeners = new Set<(state: SupplyState) => void>()
  let latest = SUPPLY_AT_REST
  const done = () => Promise.resolve(latest)
  return {
    identity: simulated ? 'TRIMWRIGHT SIMULATED,SUPPLY,SIM0005,1.0' : 'EXAMPLE,PS-20,77,1.0',
    simulated,
    latest: () => latest,
    wish: () => ({ live: true, limits: done, set: done, on: done }),
    normal: done,
    safe: done,
    onState: (listener) => {
      listeners.add(listener)
      return () => listeners.delete(listener)
    },
    onActed: () => () => {},
    onGone: () => () => {},
    close: () => Promise.resolve(),
    push: (state) => {
      latest = { ...latest, ...state }
      for (const listener of listeners) listener(latest)
    },
    get listening() {
      return listeners.size
    },
  }
}
