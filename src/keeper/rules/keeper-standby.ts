import { ALONE, type Refusal, refused } from './keeper-limits.ts'
import { sayRefused, startNext } from './keeper-orders.ts'
import type { KeeperState, Step, Told } from './keeper-state.ts'

/** Why nothing goes up now: nobody would switch off for a keeper that dies; null where somebody would. */
export function refuseAlone(state: KeeperState): Refusal | null {
  return state.standby ? null : refused(ALONE)
}

/** These steps switch on, or raise the voltage. */
export function goesUp(steps: readonly Step[]): boolean {
  return steps.some((step) => step.do === 'ramp' || (step.do === 'act' && step.act.do === 'on'))
}

/** The standby came, or went: then what is on its way up stays where it is. */
export function standbyHeard(before: KeeperState, present: boolean, atMs: number, told: Told): KeeperState {
  const state: KeeperState = { ...before, standby: present }
  const { plan } = state
  // An "on" that is under way cannot be called back: it is seen through.
  const against = plan && state.inFlight?.do !== 'on' && goesUp(plan.steps) ? refuseAlone(state) : null
  if (!plan || !against) return state
  sayRefused(state, plan.order, against, told)
  return startNext({ ...state, plan: null }, atMs, told)
}
