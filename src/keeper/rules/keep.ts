import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import type { FromKeeper, ToKeeper } from '../../schema/messages/keeper-message.ts'
import { said, type Words } from '../../words/said/said.ts'
import type { KeeperEvent } from './keeper-event.ts'
import { leavesSetting, lookedWhileLowering, tickedWhileLowering } from './keeper-lowering.ts'
import { itself, ordered, startNext } from './keeper-orders.ts'
import { downTried, giveUp, goSafe, lookedWhileSafing, tickedWhileSafing } from './keeper-safing.ts'
import { standbyHeard } from './keeper-standby.ts'
import { type Act, KEEPER, type KeeperNote, type KeeperState, type Told } from './keeper-state.ts'
import { did, failed, lookedFor, overdue } from './keeper-steps.ts'
import { beatDueMs } from './keeper-wanted.ts'
import { watchOver } from './keeper-watch.ts'
import { seconds } from './seconds.ts'
import { stateOf } from './supply-state.ts'

/** One event further: the state after it, what is to be said, what is to be written down. */
export interface Kept {
  readonly state: KeeperState
  readonly says: readonly FromKeeper[]
  readonly notes: readonly KeeperNote[]
}

/** The keeper's decisions. What is to be done with the supply follows from the state: see `wanted`. */
export function keep(before: KeeperState, event: KeeperEvent): Kept {
  const told: Told = { says: [], notes: [] }
  const state = fold(before, event, told)
  return { state, says: told.says, notes: told.notes }
}

function fold(state: KeeperState, event: KeeperEvent, told: Told): KeeperState {
  switch (event.kind) {
    case 'asked':
      return asked(state, event.request, event.atMs, told)
    case 'tick':
      return ticked(state, event.atMs, event.bootMs, told)
    case 'begun':
      return begun(state, event.act, event.atMs)
    case 'looked':
      return looked(state, event.back, told)
    case 'did':
      return did(
        // "Off" is written without waiting for an answer: nothing was heard.
        event.act.do === 'off'
          ? { ...state, inFlight: null }
          : { ...state, inFlight: null, heardMs: event.atMs, askedMs: null, lost: null },
        event.act,
        event.beganMs,
        event.atMs,
        told,
      )
    case 'failed':
      return failed({ ...state, inFlight: null }, event, told)
    case 'standby':
      return standbyHeard(state, event.present, event.atMs, told)
    case 'alarm':
      return itself(leavesSetting(downTried(state), event.why), event.why, event.atMs, told)
    case 'leave': {
      // Each answer to a dead service brings this again: what is proved stays proved, or it would never end.
      if (state.ending) return state
      const ending = { why: event.why, sinceMs: event.atMs }
      return goSafe({ ...state, ending }, { why: event.why, atMs: event.atMs, byItself: true }, told)
    }
  }
}

function asked(state: KeeperState, request: ToKeeper, atMs: number, told: Told): KeeperState {
  switch (request.verb) {
    case 'beat':
      return { ...state, beatMs: atMs }
    case 'state':
      told.says.push({ kind: 'done', id: request.id, state: stateOf(state) })
      return state
    case 'off':
      return goSafe(state, { why: request.why, atMs, byItself: false, id: request.id, upTo: request.upTo }, told)
    default:
      return ordered(state, request, atMs, told)
  }
}

function ticked(before: KeeperState, atMs: number, bootMs: number, told: Told): KeeperState {
  const sleptMs = before.bootMs === null ? 0 : bootMs - before.bootMs
  let state: KeeperState = { ...before, bootMs }
  if (sleptMs > state.rules.sleptMs) state = itself(state, said('keeper.slept', { time: seconds(sleptMs) }), atMs, told)
  if (state.safing) return tickedOnTheWay(tickedWhileSafing(state, atMs, told), atMs, told)
  if (state.locked === null) {
    if (atMs >= beatDueMs(state))
      return itself(state, said('keeper.no-beat', { time: seconds(atMs - state.beatMs) }), atMs, told)
    const dumbMs = state.askedMs === null ? 0 : atMs - state.askedMs
    if (dumbMs >= KEEPER.unreadableMs * state.rules.patience)
      return itself(state, unread(state, seconds(dumbMs)), atMs, told)
  }
  if (state.lowering) return startNext(tickedWhileLowering(state, atMs, told), atMs, told)
  const plan = state.plan
  return plan && atMs >= plan.untilMs ? overdue(state, plan, atMs, told) : state
}

function unread({ lost }: KeeperState, time: string): Words {
  return lost === null ? said('keeper.unread', { time }) : said('keeper.unread-lost', { time, why: lost })
}

function tickedOnTheWay(state: KeeperState, atMs: number, told: Told): KeeperState {
  if (!state.ending || state.ended || atMs - state.ending.sinceMs < KEEPER.endMs * state.rules.patience) return state
  return giveUp(state, state.ending.why, atMs, told)
}

function begun(before: KeeperState, act: Act, atMs: number): KeeperState {
  const state: KeeperState = { ...before, askedMs: before.askedMs ?? atMs }
  if (act.do === 'look') return { ...state, inFlight: act, lookBegunMs: atMs }
  // From here on nobody can say that the output is off.
  const output = act.do === 'on' ? ({ asked: 'on', sinceMs: atMs } as const) : state.output
  return { ...state, inFlight: act, output }
}

function looked(before: KeeperState, back: SupplyReadBack, told: Told): KeeperState {
  let state: KeeperState = {
    ...before,
    inFlight: null,
    back,
    blind: null,
    lost: null,
    heardMs: back.atMs,
    askedMs: null,
  }
  if (state.safing) state = lookedWhileSafing(state, state.safing, back, told)
  else {
    const { sagSinceMs, overLooks, alarm } = watchOver(state, back)
    state = { ...state, sagSinceMs, overLooks }
    if (alarm !== null) state = itself(state, alarm, back.atMs, told)
    else if (state.lowering) state = lookedWhileLowering(state, state.lowering, back, told)
    else if (state.plan) state = lookedFor(state, state.plan, back, told)
  }
  told.says.push({ kind: 'state', state: stateOf(state) })
  return startNext(state, back.atMs, told)
}
