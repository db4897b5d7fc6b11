import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import { said, type Words } from '../../words/said/said.ts'
import { highestVolts, inAmps, inVolts, voltsSlack } from './keeper-limits.ts'
import { KEEPER, type KeeperState } from './keeper-state.ts'

/** What a look counts up, and why it calls for safe; null: all is well. */
export interface Watched {
  readonly sagSinceMs: number | null
  readonly overLooks: number
  readonly alarm: Words | null
}

/** Judges one look: tripped, on or off without being told, above the ceiling, starved by the current limit. */
export function watchOver(state: KeeperState, back: SupplyReadBack): Watched {
  const overLooks = back.output === 'on' && above(state, back) !== null ? state.overLooks + 1 : 0
  const sagSinceMs = sags(state, back) ? (state.sagSinceMs ?? back.atMs) : null
  return { overLooks, sagSinceMs, alarm: alarm(state, back, overLooks, sagSinceMs) }
}

function alarm(state: KeeperState, back: SupplyReadBack, overLooks: number, sagSinceMs: number | null): Words | null {
  if (back.tripped && state.locked === null) return said('keeper.tripped', { set: inVolts(back.setVolts) })
  const { asked, sinceMs } = state.output
  const settled = back.beganMs - sinceMs >= KEEPER.relayMs && !outputInFlight(state)
  if (settled && asked === 'off' && back.output === 'on')
    return said('keeper.on-unasked', { volts: inVolts(back.volts) })
  if (settled && asked === 'on' && back.output === 'off') return said('keeper.off-at-supply')
  if (overLooks >= KEEPER.overLooks) return above(state, back)
  if (sagSinceMs !== null && back.atMs - sagSinceMs >= KEEPER.sagMs)
    return said('keeper.starved', {
      volts: inVolts(back.volts),
      amps: inAmps(back.amps),
      set: inVolts(back.setVolts),
    })
  return null
}

function outputInFlight(state: KeeperState): boolean {
  return state.inFlight?.do === 'on' || state.inFlight?.do === 'off'
}

/** Set or measured above the ceiling in force, as somebody at the knobs would leave it; null when not. */
function above(state: KeeperState, back: SupplyReadBack): Words | null {
  const ceilingVolts = state.limits ? highestVolts(state.rules, state.limits) : state.rules.ownVolts
  const bound = ceilingVolts + voltsSlack(ceilingVolts)
  if (back.setVolts > bound)
    return said('keeper.set-too-high', { volts: inVolts(back.setVolts), ceiling: inVolts(ceilingVolts) })
  if (back.volts > bound)
    return said('keeper.measured-too-high', { volts: inVolts(back.volts), ceiling: inVolts(ceilingVolts) })
  return null
}

function sags(state: KeeperState, back: SupplyReadBack): boolean {
  const { asked, sinceMs } = state.output
  if (back.output !== 'on' || asked !== 'on' || back.beganMs - sinceMs < KEEPER.softStartMs) return false
  return back.volts < KEEPER.sagShare * back.setVolts
}
