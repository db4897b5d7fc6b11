import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import { said, type Words } from '../../words/said/said.ts'
import type { KeeperEvent } from './keeper-event.ts'
import { inAmps, inVolts, keyed, keyIsDown, reached } from './keeper-limits.ts'
import { lowerTried } from './keeper-lowering.ts'
import { itself, sayRefused, startNext } from './keeper-orders.ts'
import { agrees, decide, goalOf, nextStep } from './keeper-plan.ts'
import { downTried, offProved, offTried } from './keeper-safing.ts'
import { sniffed, sniffedEnough } from './keeper-sniff.ts'
import { goesUp, refuseAlone } from './keeper-standby.ts'
import {
  type Act,
  KEEPER,
  type KeeperState,
  type Limits,
  type Order,
  type Plan,
  type Step,
  type Told,
} from './keeper-state.ts'
import { stillHigh } from './keeper-wanted.ts'
import { seconds } from './seconds.ts'
import { stateOf } from './supply-state.ts'

/** What a fresh look means to the plan's step at hand. */
export function lookedFor(state: KeeperState, plan: Plan, back: SupplyReadBack, told: Told): KeeperState {
  const step = plan.steps[0]
  if (!step || back.beganMs < plan.sinceMs) return state
  const atMs = back.atMs
  switch (step.do) {
    case 'act':
      return state
    case 'decide': {
      const steps = decide(state, plan.order, back)
      const alone = 'code' in steps || !goesUp(steps) ? null : refuseAlone(state)
      if (alone) return drop(sayRefused(state, plan.order, alone, told), atMs, told)
      if ('code' in steps) return drop(sayRefused(state, plan.order, steps, told), atMs, told)
      const armed = state.armed && !(plan.order.verb === 'limits' && back.output === 'off')
      return advance({ ...state, armed }, { ...plan, fromVolts: back.volts }, steps, atMs, told)
    }
    case 'prove off':
      return offProved(back, plan.fromVolts) ? onward(state, plan, atMs, told) : state
    case 'sniff': {
      const looks = sniffed(step, plan, back)
      if (typeof looks !== 'number') {
        sayRefused(state, plan.order, looks, told)
        return itself({ ...state, plan: null }, looks.words, atMs, told)
      }
      if (sniffedEnough(looks, plan, back)) return onward(state, { ...plan, fromVolts: back.volts }, atMs, told)
      return { ...state, plan: { ...plan, looks } }
    }
    case 'agree': {
      if (agrees(step.volts, step.amps, back)) return onward(state, plan, atMs, told)
      if (plan.looks + 1 < KEEPER.agreeLooks) return { ...state, plan: { ...plan, looks: plan.looks + 1 } }
      return fail(state, plan, { code: 'KEEPER_SUPPLY_DISAGREES', words: disagrees(step, back) }, atMs, told)
    }
    case 'rest limit': {
      const rest = [{ do: 'act', act: { do: 'amps', amps: step.amps } } as const, ...plan.steps.slice(1)]
      if (!keyed(state.limits, back)) return advance(state, plan, rest, atMs, told)
      return onward({ ...state, restAmps: step.amps }, plan, atMs, told)
    }
    case 'reach': {
      const looks = reached(step.volts, back.volts) ? plan.looks + 1 : 0
      if (looks >= KEEPER.reachLooks) return onward(state, plan, atMs, told)
      return { ...state, plan: { ...plan, looks } }
    }
    case 'ramp':
      if (step.keyed === 'wait' || !keyed(state.limits, back)) return state
      return drop(sayRefused(state, plan.order, keyIsDown(step.volts, state.limits, back), told), atMs, told)
    default:
      return step satisfies never
  }
}

function disagrees(step: Extract<Step, { do: 'agree' }>, back: SupplyReadBack): Words {
  const volts = step.volts === null ? null : { volts: inVolts(step.volts), saysVolts: inVolts(back.setVolts) }
  const amps = step.amps === null ? null : { amps: inAmps(step.amps), saysAmps: inAmps(back.limitAmps) }
  if (volts && amps) return said('keeper.disagrees', { ...volts, ...amps })
  if (volts) return said('keeper.disagrees-volts', volts)
  return amps ? said('keeper.disagrees-amps', amps) : ''
}

/** The step at hand is done. */
function onward(state: KeeperState, plan: Plan, atMs: number, told: Told): KeeperState {
  return advance(state, plan, plan.steps.slice(1), atMs, told)
}

function advance(state: KeeperState, plan: Plan, steps: readonly Step[], atMs: number, told: Told): KeeperState {
  return steps.length > 0
    ? { ...state, plan: nextStep(plan, steps, atMs, state.rules.patience) }
    : finish(state, plan.order, atMs, told)
}

/** The order is carried out and read back. */
function finish(before: KeeperState, order: Order, atMs: number, told: Told): KeeperState {
  const state = after({ ...before, plan: null }, order)
  told.says.push({ kind: 'done', id: order.id, state: stateOf(state) })
  return startNext(state, atMs, told)
}

function after(state: KeeperState, order: Order): KeeperState {
  const on = state.output.asked === 'on'
  const { limits, target } = state
  switch (order.verb) {
    case 'limits': {
      const { verb: _verb, id: _id, wish: _wish, ...now } = order
      const first = { volts: now.normalVolts, amps: now.receiveAmps }
      return {
        ...state,
        limits: now,
        normalVolts: now.normalVolts,
        armed: true,
        locked: null,
        target: on ? target : first,
      }
    }
    case 'on':
      return { ...state, resting: target && isNormal(limits, target.volts, target.amps) ? 'normal' : 'working' }
    case 'set': {
      const goal = { volts: order.volts, amps: order.amps }
      return on
        ? { ...state, resting: isNormal(limits, goal.volts, goal.amps) ? 'normal' : 'working' }
        : { ...state, target: goal }
    }
    case 'normal':
      if (on || limits === null) return { ...state, resting: 'normal' }
      return { ...state, target: { volts: limits.normalVolts, amps: limits.receiveAmps } }
  }
}

function isNormal(limits: Limits | null, volts: number, amps: number): boolean {
  return limits !== null && volts === limits.normalVolts && amps === limits.receiveAmps
}

/** The order was answered with a refusal and nothing is the worse for it. */
function drop(state: KeeperState, atMs: number, told: Told): KeeperState {
  return startNext({ ...state, plan: null }, atMs, told)
}

/** The order failed half way. Unless it was on its way up, that ends in "safe". */
function fail(
  state: KeeperState,
  plan: Plan,
  why: { code: string; words: Words },
  atMs: number,
  told: Told,
): KeeperState {
  const { order } = plan
  sayRefused(state, order, why, told)
  const goalVolts = order.verb === 'set' ? goalOf(state, order) : null
  const high =
    goalVolts === null || state.back === null || stillHigh(goalVolts, Math.max(state.back.volts, state.back.setVolts))
  return high
    ? itself({ ...state, plan: null }, said('keeper.order-failed', { order: order.verb, why: why.words }), atMs, told)
    : drop(state, atMs, told)
}

/** The step at hand took too long. */
export function overdue(state: KeeperState, plan: Plan, atMs: number, told: Told): KeeperState {
  const step = plan.steps[0]
  const { back } = state
  const seen = back ? inVolts(back.volts) : null
  const time = seconds(atMs - plan.sinceMs)
  if (step?.do === 'ramp' && step.keyed === 'wait' && back && keyed(state.limits, back))
    return drop(sayRefused(state, plan.order, keyIsDown(step.volts, state.limits, back), told), atMs, told)
  if (step?.do === 'reach' || step?.do === 'ramp' || step?.do === 'sniff') {
    const volts = inVolts(step.volts)
    const words =
      seen === null
        ? said('keeper.not-reached-unseen', { volts, time })
        : said('keeper.not-reached', { volts, time, seen })
    return fail(state, plan, { code: 'KEEPER_SUPPLY_DISAGREES', words }, atMs, told)
  }
  if (step?.do === 'prove off') {
    const words = seen === null ? said('keeper.off-late-unseen', { time }) : said('keeper.off-late', { time, seen })
    return fail(state, plan, { code: 'KEEPER_NOT_SAFE', words }, atMs, told)
  }
  const { lost } = state
  const words = lost === null ? said('keeper.no-answer', { time }) : said('keeper.no-answer-lost', { time, why: lost })
  return fail(state, plan, { code: 'KEEPER_UNREADABLE', words }, atMs, told)
}

/** An act was done; `state` is free for the next. */
export function did(before: KeeperState, act: Act, beganMs: number, atMs: number, told: Told): KeeperState {
  let state = before
  if (act.do === 'off') state = offTried({ ...state, output: { asked: 'off', sinceMs: atMs } }, true, atMs)
  if (state.safing) return act.do === 'volts' ? downTried(state) : state
  if (state.lowering) return act.do === 'volts' ? lowerTried(state, null, atMs) : state
  if (act.do === 'amps' && act.amps === state.restAmps) state = { ...state, restAmps: null }
  const { plan } = state
  const step = plan?.steps[0]
  if (!plan || !step) return state
  if (step.do === 'act') return sameAct(step.act, act) ? onward(state, plan, atMs, told) : state
  if (step.do !== 'ramp' || act.do !== 'volts') return state
  if (act.volts >= step.volts) return onward(state, plan, atMs, told)
  return { ...state, plan: { ...plan, steppedMs: beganMs, tries: 0 } }
}

/** An act failed: missed replies are tried once more, all else ends the order. */
export function failed(before: KeeperState, event: Extract<KeeperEvent, { kind: 'failed' }>, told: Told): KeeperState {
  const { act, beganMs, atMs } = event
  // A refusal is an answer too; a reply that cannot be read is none.
  const askedMs = event.code.startsWith('INSTRUMENT_') ? null : before.askedMs
  const lost = event.code === 'TRANSPORT_LINK_LOST' ? (before.lost ?? event.words) : before.lost
  let state: KeeperState = { ...before, askedMs, blind: { beganMs, atMs }, lost }
  if (act.do === 'on') state = { ...state, output: { asked: 'unknown', sinceMs: atMs } }
  if (act.do === 'off') state = offTried(state, false, atMs)
  if (act.do === 'volts') state = downTried(lowerTried(state, event.words, atMs))
  if (act.do === 'look') told.says.push({ kind: 'state', state: stateOf(state) })
  const { plan } = state
  const step = plan?.steps[0]
  const refusedRest = !plan && act.do === 'amps' && act.amps === state.restAmps && askedMs === null
  if (refusedRest) return itself(state, said('keeper.receive-limit-refused', { why: event.words }), atMs, told)
  if (!plan || !step || act.do === 'look') return state
  const ours = step.do === 'act' ? sameAct(step.act, act) : step.do === 'ramp' && act.do === 'volts'
  if (!ours) return state
  const again = event.code.startsWith('TRANSPORT_') && act.do !== 'on' && plan.tries + 1 < KEEPER.settingTries
  if (again) return { ...state, plan: { ...plan, tries: plan.tries + 1 } }
  return fail(state, plan, { code: event.code, words: event.words }, atMs, told)
}

function sameAct(a: Act, b: Act): boolean {
  if (a.do === 'amps') return b.do === 'amps' && a.amps === b.amps
  if (a.do === 'volts' || a.do === 'trip') return b.do === a.do && a.volts === b.volts
  return a.do === b.do
}
