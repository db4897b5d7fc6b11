import type { SupplyState } from '../../schema/messages/keeper-message.ts'
import type { KeeperState } from './keeper-state.ts'

/** What the keeper tells of the supply: the newest look, or nulls where the newest look failed. */
export function stateOf(state: KeeperState): SupplyState {
  const { back, blind } = state
  const head = state.plan?.steps[0]?.do
  const moving = head === 'ramp' || head === 'reach'
  if (back === null || blind !== null) {
    const at = blind ?? { beganMs: state.heardMs, atMs: state.heardMs }
    return {
      ...at,
      volts: null,
      amps: null,
      rawAmps: '',
      output: 'unknown',
      regulation: 'unknown',
      tripped: back?.tripped ?? false,
      setVolts: null,
      limitAmps: null,
      moving,
      resting: state.resting,
    }
  }
  return {
    beganMs: back.beganMs,
    atMs: back.atMs,
    volts: back.volts,
    amps: back.amps,
    rawAmps: back.rawAmps,
    output: back.output,
    regulation: back.regulation,
    tripped: back.tripped,
    setVolts: back.setVolts,
    limitAmps: back.limitAmps,
    moving,
    resting: back.output === 'on' ? state.resting : 'safe',
  }
}
