import { said, type Words } from '../../words/said/said.ts'
import { isDead, refuse, refused } from './keeper-limits.ts'
import { firstSteps, nextStep } from './keeper-plan.ts'
import { endWishes, goSafe } from './keeper-safing.ts'
import { KEEPER, type KeeperState, type Order, type Plan, type Told, type Verb } from './keeper-state.ts'

/** An order of a live wish waits for its turn, a newer `set` overtakes an older one; `normal` ends every wish so far. */
export function ordered(before: KeeperState, order: Order, atMs: number, told: Told): KeeperState {
  if (order.verb === 'normal') return normalOrdered(before, order, atMs, told)
  let state = heardOf(before, order.wish)
  const against = refuse(state, order)
  if (against && (order.verb === 'limits' || isDead(state, order) || !comesUnlocked(state)))
    return sayRefused(state, order, against, told)
  if (order.verb === 'set' && state.plan?.order.verb === 'set') state = dropAll(state, order, told)
  return enqueued(state, order, atMs, told)
}

/** Down, before anything that was wanted until now. An output that is not quite on yet, or whose trip is not set, goes off instead. */
function normalOrdered(before: KeeperState, order: Verb<'normal'>, atMs: number, told: Told): KeeperState {
  const resting = before.plan?.order.verb === 'normal'
  const halfOn = comesUnlocked(before) || before.plan?.order.verb === 'on'
  const state = dropAll(endWishes(before, order.upTo), order, told, resting)
  const against = refuse(state, order)
  if (!halfOn) return against ? sayRefused(state, order, against, told) : enqueued(state, order, atMs, told)
  return goSafe(state, { why: order.why, atMs, byItself: false, id: order.id }, told)
}

/** What is under way (but for a `normal` that is kept) and what waits is refused: a newer order came. */
function dropAll(state: KeeperState, order: Order, told: Told, keepPlan = false): KeeperState {
  const late = [...(state.plan && !keepPlan ? [state.plan.order] : []), ...state.queue]
  for (const one of late) sayRefused(state, one, refused(said('keeper.overtaken', { order: order.verb })), told)
  return { ...state, plan: keepPlan ? state.plan : null, queue: [] }
}

function enqueued(state: KeeperState, order: Order, atMs: number, told: Told): KeeperState {
  if (state.queue.length >= KEEPER.longestQueue)
    return sayRefused(state, order, refused(said('keeper.queue-full', { count: KEEPER.longestQueue })), told)
  return startNext({ ...state, queue: [...state.queue, order] }, atMs, told)
}

function heardOf(state: KeeperState, wish: number): KeeperState {
  return { ...state, wishes: { ...state.wishes, newest: Math.max(state.wishes.newest, wish) } }
}

/** Limits are under way or waiting: what is locked now may not be at its turn, and is judged then. */
function comesUnlocked(state: KeeperState): boolean {
  return state.plan?.order.verb === 'limits' || state.queue.some((one) => one.verb === 'limits')
}

/** Answers an order with a refusal. */
export function sayRefused(
  state: KeeperState,
  order: Order,
  against: { code: string; words: Words },
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
export function itself(state: KeeperState, why: Words, atMs: number, told: Told): KeeperState {
  return goSafe(state, { why, atMs, byItself: true }, told)
}
