import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import { highestVolts, inAmps, inVolts, voltsSlack } from './keeper-limits.ts'
import { KEEPER, type KeeperState } from './keeper-state.ts'

/** What a look counts up, and why it calls for safe; null: all is well. */
export interface Watched {
  readonly sagSinceMs: number | null
  readonly overLooks: number
  readonly alarm: string | null
}

/** Judges one look: tripped, on or off without being told, above the ceiling, starved by the current limit. */
export function watchOver(state: KeeperState, back: SupplyReadBack): Watched {
  const overLooks = back.output === 'on' && above(state, back) !== null ? state.overLooks + 1 : 0
  const sagSinceMs = sags(state, back) ? (state.sagSinceMs ?? back.atMs) : null
  return { overLooks, sagSinceMs, alarm: alarm(state, back, overLooks, sagSinceMs) }
}

function alarm(state: KeeperState, back: SupplyReadBack, overLooks: number, sagSinceMs: number | null): string | null {
  if (back.tripped && state.locked === null) return `the supply has tripped (set to ${inVolts(back.setVolts)})`
  const { asked, sinceMs } = state.output
  const settled = back.beganMs - sinceMs >= KEEPER.relayMs && !outputInFlight(state)
  if (settled && asked === 'off' && back.output === 'on')
    return `the output came on without being asked for (${inVolts(back.volts)})`
  if (settled && asked === 'on' && back.output === 'off') return 'the output went off at the supply'
  if (overLooks >= KEEPER.overLooks) return above(state, back)
  if (sagSinceMs !== null && back.atMs - sagSinceMs >= KEEPER.sagMs)
    return `current limit: ${inVolts(back.volts)} at ${inAmps(back.amps)}, set to ${inVolts(back.setVolts)}`
  return null
}

function outputInFlight(state: KeeperState): boolean {
  return state.inFlight?.do === 'on' || state.inFlight?.do === 'off'
}

/** Set or measured above the ceiling in force, as somebody at the knobs would leave it; null when not. */
function above(state: KeeperState, back: SupplyReadBack): string | null {
  const ceilingVolts = state.limits ? highestVolts(state.rules, state.limits) : state.rules.ownVolts
  const bound = ceilingVolts + voltsSlack(ceilingVolts)
  if (back.setVolts > bound)
    return `the supply is set to ${inVolts(back.setVolts)}, the ceiling is ${inVolts(ceilingVolts)}`
  if (back.volts > bound) return `${inVolts(back.volts)} measured, the ceiling is ${inVolts(ceilingVolts)}`
  return null
}

function sags(state: KeeperState, back: SupplyReadBack): boolean {
  const { asked, sinceMs } = state.output
  if (back.output !== 'on' || asked !== 'on' || back.beganMs - sinceMs < KEEPER.softStartMs) return false
  return back.volts < KEEPER.sagShare * back.setVolts
}
