import { BenchError } from '../../fault/bench-error.ts'
import { said } from '../../words/said/said.ts'
import type { Supply } from './supply.ts'
import { unknownSupply } from './unknown-supply.ts'

/** A bench without a programmable supply: meters can be watched, every order is refused with KEEPER_REFUSED. */
export function noSupply(benchName: string, simulated: boolean): Supply {
  const unknown = unknownSupply(0)
  const refuse = () => Promise.reject(new BenchError('KEEPER_REFUSED', benchName, said('keeper.no-supply')))
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
