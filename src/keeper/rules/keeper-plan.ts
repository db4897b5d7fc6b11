import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import { said } from '../../words/said/said.ts'
import { ampsSlack, keyed, keyIsDown, type Refusal, refuseLooser } from './keeper-limits.ts'
import { sniffSteps } from './keeper-sniff.ts'
import { KEEPER, type KeeperState, type Limits, type Order, type Plan, type Step } from './keeper-state.ts'

const act = (one: Extract<Step, { do: 'act' }>['act']): Step => ({ do: 'act', act: one })
const TRIPPED: Refusal = { code: 'KEEPER_TRIPPED', words: said('keeper.tripped-still') }
const SAME_VOLTS = 0.001

/** The steps an order begins with. Down goes at once, before anything is looked at; all else is decided on a fresh look. */
export function firstSteps(state: KeeperState, order: Order): readonly Step[] {
  const volts = goalOf(state, order)
  const mayBeOn = state.output.asked !== 'off' || state.back?.output === 'on'
  const down = volts !== null && mayBeOn && state.back !== null && volts < state.back.setVolts - SAME_VOLTS
  return down ? [act({ do: 'volts', volts }), { do: 'decide' }] : [{ do: 'decide' }]
}

/** The voltage a move ends at; null for orders that are no moves. */
export function goalOf(state: KeeperState, order: Order): number | null {
  if (order.verb === 'set') return order.volts
  return order.verb === 'normal' ? (state.limits?.normalVolts ?? null) : null
}

/** What an order takes, seen from a fresh look at the supply. */
export function decide(state: KeeperState, order: Order, back: SupplyReadBack): readonly Step[] | Refusal {
  const on = back.output === 'on'
  switch (order.verb) {
    case 'limits':
      return on ? tighter(state, order, back) : arm(state, order, back)
    case 'on':
      return on ? [] : switchOn(state, back)
    case 'set':
      return on ? move(state, order.volts, order.amps, back) : prepare(order.volts, order.amps)
    case 'normal': {
      const limits = state.limits
      if (limits === null) return []
      return on ? rest(limits, back) : prepare(limits.normalVolts, limits.receiveAmps)
    }
  }
}

/** Off confirmed, receive limit, trip: what makes an `on` possible. A higher voltage left in the supply goes down before the trip does. */
function arm(state: KeeperState, limits: Limits, back: SupplyReadBack): readonly Step[] | Refusal {
  if (back.tripped) return TRIPPED
  return [
    act({ do: 'off' }),
    { do: 'prove off' },
    act({ do: 'amps', amps: limits.receiveAmps }),
    ...downTo(limits.normalVolts, back),
    ...tripTo(state.rules, limits),
    { do: 'agree', volts: null, amps: limits.receiveAmps },
  ]
}

function tighter(state: KeeperState, limits: Limits, back: SupplyReadBack): readonly Step[] | Refusal {
  return (
    refuseLooser(state.rules, state.limits, limits, back) ?? [
      ...tripTo(state.rules, limits),
      { do: 'agree', volts: null, amps: null },
    ]
  )
}

/** First at 3 V and 0.1 A; only where nothing is wrong there, off again and on at what is wanted. */
function switchOn(state: KeeperState, back: SupplyReadBack): readonly Step[] | Refusal {
  const { limits, target } = state
  if (limits === null || target === null) return []
  if (back.tripped) return TRIPPED
  return [
    act({ do: 'off' }),
    { do: 'prove off' },
    ...sniffSteps(tripTo(state.rules, limits), target, back.setVolts),
    act({ do: 'amps', amps: target.amps }),
    ...tripTo(state.rules, limits),
    act({ do: 'volts', volts: target.volts }),
    { do: 'agree', volts: target.volts, amps: target.amps },
    act({ do: 'on' }),
    { do: 'reach', volts: target.volts },
  ]
}

/** The supply's own trip; nothing where it has none. */
function tripTo({ trip }: KeeperState['rules'], limits: Limits): readonly Step[] {
  return trip === 'own' ? [act({ do: 'trip', volts: limits.tripVolts })] : []
}

/** Output off: the settings only. */
function prepare(volts: number, amps: number): readonly Step[] {
  return [act({ do: 'amps', amps }), act({ do: 'volts', volts }), { do: 'agree', volts, amps }]
}

/** Output on: down at once and then the limit; up after the limit, step by step, with the key up. */
function move(state: KeeperState, volts: number, amps: number, back: SupplyReadBack): readonly Step[] | Refusal {
  const limit: readonly Step[] = Math.abs(back.limitAmps - amps) > SAME_AMPS ? [act({ do: 'amps', amps })] : []
  const agree: Step = { do: 'agree', volts, amps }
  const reach: Step = { do: 'reach', volts }
  if (volts > back.setVolts + SAME_VOLTS) {
    if (keyed(state.limits, back)) return keyIsDown(volts, state.limits, back)
    return [...limit, { do: 'ramp', volts, keyed: 'refuse' }, agree, reach]
  }
  return [...downTo(volts, back), ...limit, agree, reach]
}

/** Output on: normal voltage, then the receive limit as soon as the key is up (it would starve a keyed set). */
function rest(limits: Limits, back: SupplyReadBack): readonly Step[] {
  const volts = limits.normalVolts
  const way: readonly Step[] =
    volts > back.setVolts + SAME_VOLTS ? [{ do: 'ramp', volts, keyed: 'wait' }] : downTo(volts, back)
  const agree: Step = { do: 'agree', volts, amps: null }
  return [...way, agree, { do: 'rest limit', amps: limits.receiveAmps }, { do: 'reach', volts }]
}

function downTo(volts: number, back: SupplyReadBack): readonly Step[] {
  return back.setVolts > volts + SAME_VOLTS ? [act({ do: 'volts', volts })] : []
}

const SAME_AMPS = 0.0005

/** The plan with its next step at hand, which begins now; `patience` times the usual waits. */
export function nextStep(plan: Plan, steps: readonly Step[], atMs: number, patience: number): Plan {
  const untilMs = atMs + stepMs(steps[0]) * patience
  return { ...plan, steps, sinceMs: atMs, looks: 0, tries: 0, steppedMs: Number.NEGATIVE_INFINITY, untilMs }
}

/** How long a step may take, ms. Acts have the shell's deadlines. */
function stepMs(step: Step | undefined): number {
  switch (step?.do) {
    case 'prove off':
      return KEEPER.offRefusedMs
    case 'ramp':
      return KEEPER.reachMs + KEEPER.rampMsPerVolt * step.volts + (step.keyed === 'wait' ? KEEPER.keyWaitMs : 0)
    case 'act':
      return Number.POSITIVE_INFINITY
    default:
      return KEEPER.reachMs
  }
}

/** The next voltage of a ramp: one step up from what the supply is set to, never past the goal. */
export function nextVolts(goalVolts: number, back: SupplyReadBack): number {
  return Math.min(goalVolts, Math.round((back.setVolts + KEEPER.rampStepVolts) * 1000) / 1000)
}

/** The settings read back are what was ordered; null does not matter. */
export function agrees(volts: number | null, amps: number | null, back: SupplyReadBack): boolean {
  if (volts !== null && Math.abs(back.setVolts - volts) > KEEPER.reachVolts) return false
  return amps === null || Math.abs(back.limitAmps - amps) <= ampsSlack(amps)
}
