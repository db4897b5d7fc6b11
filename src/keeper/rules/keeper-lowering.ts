import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import { said, type Words } from '../../words/said/said.ts'
import { inVolts } from './keeper-limits.ts'
import { KEEPER, type KeeperState, type Lowering, type Told } from './keeper-state.ts'

/**
 * Off is proved. A voltage setting above normal (above the lowest the supply takes, where normal is not known) goes down, so that a finger
 * on the supply's output key gives no more than that; one that is not above it is left. An ending keeper ends when this is through.
 */
export function lowerOnceOff(state: KeeperState, atMs: number, told: Told): KeeperState {
  const volts = state.normalVolts ?? state.rules.leastVolts
  if (state.back === null || isLow(volts, state.back)) return through(state)
  const lowering: Lowering = { volts, sinceMs: atMs, stage: 'write', doneMs: atMs, tries: 0, refusal: null }
  return state.mayNotLower === null ? { ...state, lowering } : leftHigh(state, lowering, state.mayNotLower, atMs, told)
}

/** Something speaks against the write (`why`): off is ordered and proved again, and the setting is left as it is. */
export function leavesSetting(state: KeeperState, why: Words): KeeperState {
  return state.lowering ? { ...state, mayNotLower: why } : state
}

/** The write was taken (`words` null), or not: the next look decides. */
export function lowerTried(state: KeeperState, words: Words | null, atMs: number): KeeperState {
  const { lowering } = state
  if (!lowering) return state
  return { ...state, lowering: { ...lowering, stage: 'look', doneMs: atMs, tries: lowering.tries + 1, refusal: words } }
}

/** A look that began after the write: down and still off, once more, or given up. */
export function lookedWhileLowering(
  state: KeeperState,
  lowering: Lowering,
  back: SupplyReadBack,
  told: Told,
): KeeperState {
  if (lowering.stage !== 'look' || back.beganMs < lowering.doneMs) return state
  if (isLow(lowering.volts, back)) return through(state)
  if (lowering.tries < KEEPER.settingTries) return { ...state, lowering: { ...lowering, stage: 'write' } }
  return leftHigh(
    state,
    lowering,
    lowering.refusal ?? said('keeper.reads-back', { volts: inVolts(back.setVolts) }),
    back.atMs,
    told,
  )
}

/** A supply that does not answer holds nobody up: what was proved off stays proved. */
export function tickedWhileLowering(state: KeeperState, atMs: number, told: Told): KeeperState {
  const { lowering } = state
  if (!lowering || atMs - lowering.sinceMs < KEEPER.lowerMs * state.rules.patience) return state
  return leftHigh(state, lowering, lowering.refusal ?? said('keeper.silent'), atMs, told)
}

function isLow(volts: number, back: SupplyReadBack): boolean {
  return back.setVolts <= volts + KEEPER.reachVolts
}

function leftHigh(state: KeeperState, lowering: Lowering, what: Words, atMs: number, told: Told): KeeperState {
  const to = inVolts(lowering.volts)
  const why =
    state.back === null
      ? said('keeper.left-high-unseen', { to, why: what })
      : said('keeper.left-high', { from: inVolts(state.back.setVolts), to, why: what })
  told.says.push({ kind: 'acted', resting: 'safe', why, proved: true, atMs })
  const back = state.blind ? null : state.back
  told.notes.push({ what: 'left high', why, proved: true, volts: back?.volts ?? null, amps: back?.amps ?? null, atMs })
  return through(state)
}

function through(state: KeeperState): KeeperState {
  return { ...state, lowering: null, mayNotLower: null, ended: state.ending ? { proved: true } : null }
}
