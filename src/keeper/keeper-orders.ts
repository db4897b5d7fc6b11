import { refuse, refused } from './keeper-limits.ts'
import { firstSteps, nextStep } from './keeper-plan.ts'
import { goSafe } from './keeper-safing.ts'
import { KEEPER, type KeeperState, type Order, type Plan, type Told } from './keeper-state.ts'

/** An order waits for its turn. `normal` overtakes whatever is on the way or waiting, a newer `set` an older one. */
export function ordered(before: KeeperState, order: Order, atMs: number, told: Told): KeeperState {
  let state = before
  const unlocking = comesUnlocked(state)
  const against = refuse(state, order)
  if (against && (order.verb === 'limits' || !unlocking)) return sayRefused(state, order, against, told)
  const running = state.plan?.order.verb
  const overtaken =
    order.verb === 'normal' ? running === 'set' || running === 'on' : order.verb === 'set' && running === 'set'
  if (overtaken || (order.verb === 'normal' && !unlocking)) {
    const late = [...(overtaken && state.plan ? [state.plan.order] : []), ...state.queue]
    for (const one of late) sayRefused(state, one, refused(`"${order.verb}" came before it was done`), told)
    state = { ...state, plan: overtaken ? null : state.plan, queue: [] }
  }
  if (state.queue.length >= KEEPER.longestQueue)
    return sayRefused(state, order, refused(`${KEEPER.longestQueue} orders are waiting already`), told)
  return startNext({ ...state, queue: [...state.queue, order] }, atMs, told)
}

/** Limits are under way or waiting: what is locked now may not be at its turn, and is judged then. */
function comesUnlocked(state: KeeperState): boolean {
  return state.plan?.order.verb === 'limits' || state.queue.some((one) => one.verb === 'limits')
}

/** Answers an order with a refusal. */
export function sayRefused(
  state: KeeperState,
  order: Order,
  against: { code: string; words: string },
  told: Told,
): KeeperState {
  told.says.push({ kind: 'refused', id: order.id, code: against.code, words: against.words })
  return state
}

/** The next waiting order becomes the plan, when nothing else is going on: also not while the voltage setting goes down after off. */
export function startNext(before: KeeperState, atMs: number, told: Told): KeeperState {
  let state = before
  while (state.plan === null && state.safing === null && state.lowering === null) {
    const [order, ...queue] = state.queue
    if (order === undefined) return state
    state = { ...state, queue }
    const against = refuse(state, order)
    if (against) sayRefused(state, order, against, told)
    else state = started(state, order, atMs)
  }
  return state
}

function started(before: KeeperState, order: Order, atMs: number): KeeperState {
  const state: KeeperState = { ...before, restAmps: null }
  const blank: Plan = { order, steps: [], sinceMs: 0, looks: 0, tries: 0, steppedMs: 0, untilMs: 0, fromVolts: 0 }
  return { ...state, plan: nextStep(blank, firstSteps(state, order), atMs, state.rules.patience) }
}

/** Safe without being asked. */
export function itself(state: KeeperState, why: string, atMs: number, told: Told): KeeperState {
  return goSafe(state, { why, atMs, byItself: true }, told)
}
