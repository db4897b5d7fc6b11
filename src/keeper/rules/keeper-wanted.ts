import { keyed, voltsSlack } from './keeper-limits.ts'
import { nextVolts } from './keeper-plan.ts'
import { wontGoOff } from './keeper-safing.ts'
import { type Act, KEEPER, type KeeperState, type Plan, type Step } from './keeper-state.ts'

/** What is to be done with the supply now. `urgent` waits for nobody. */
export type Wanted =
  | { readonly do: 'act'; readonly act: Act; readonly urgent: boolean }
  | { readonly do: 'rest'; readonly untilMs: number }
  | { readonly do: 'end'; readonly proved: boolean }

const LOOK: Act = { do: 'look' }
const now = (act: Act, urgent = false): Wanted => ({ do: 'act', act, urgent })

/** The next thing to do with the supply, at `nowMs` of the keeper's clock. */
export function wanted(state: KeeperState, nowMs: number): Wanted {
  if (state.ended) return { do: 'end', proved: state.ended.proved }
  const { safing, lowering, plan } = state
  if (safing) {
    if (safing.stage === 'off' && nowMs >= safing.offDueMs) return now({ do: 'off' }, true)
    if (wontGoOff(state, safing)) return now({ do: 'volts', volts: state.rules.leastVolts })
    const lookDueMs = state.lookBegunMs + (state.blind === null ? KEEPER.proveMs : KEEPER.blindMs)
    if (safing.stage !== 'off') return lookAt(Math.max(lookDueMs, safing.offDoneMs), nowMs)
    return lookAt(lookDueMs, nowMs, safing.offDueMs)
  }
  if (lowering) {
    if (lowering.stage === 'write') return now({ do: 'volts', volts: lowering.volts })
    return lookAt(Math.max(lowering.doneMs, state.lookBegunMs + KEEPER.proveMs), nowMs)
  }
  const step = plan?.steps[0]
  if (plan && step) return forStep(state, plan, step, nowMs)
  const seen = state.blind === null ? state.back : null
  if (state.restAmps !== null && seen?.output === 'on' && !keyed(state.limits, seen))
    return now({ do: 'amps', amps: state.restAmps })
  return lookAt(state.lookBegunMs + (mayBeOn(state) ? state.rules.lookOnMs : KEEPER.lookOffMs), nowMs)
}

/** Whether an exchange under way is to be cut short for the sake of "off". */
export function urgent(state: KeeperState, nowMs: number): boolean {
  const next = wanted(state, nowMs)
  return next.do === 'act' && next.urgent
}

function forStep(state: KeeperState, plan: Plan, step: Step, nowMs: number): Wanted {
  const { sinceMs } = plan
  const looked = state.lookBegunMs >= sinceMs
  switch (step.do) {
    case 'act':
      return now(step.act)
    case 'decide':
    case 'rest limit':
    case 'agree':
      return lookAt(looked ? state.lookBegunMs + KEEPER.proveMs : sinceMs, nowMs)
    case 'prove off':
      return lookAt(Math.max(sinceMs, state.lookBegunMs + KEEPER.proveMs), nowMs)
    case 'sniff':
    case 'reach':
      return lookAt(looked ? state.lookBegunMs + KEEPER.reachLookMs : sinceMs, nowMs)
    case 'ramp':
      return forRamp(state, plan, step, nowMs)
  }
}

/** A look that sees the key up, then one step, not sooner than 100 ms after the one before. */
function forRamp(state: KeeperState, plan: Plan, ramp: Extract<Step, { do: 'ramp' }>, nowMs: number): Wanted {
  const lookDueMs = Math.max(plan.sinceMs, plan.steppedMs + KEEPER.rampLookMs)
  const { back } = state
  const fresh = back !== null && back.beganMs >= lookDueMs && nowMs - back.atMs <= KEEPER.lookOnMs
  if (!fresh || keyed(state.limits, back)) return lookAt(Math.max(lookDueMs, state.lookBegunMs + KEEPER.proveMs), nowMs)
  const stepDueMs = plan.steppedMs + KEEPER.rampStepMs
  if (nowMs < stepDueMs) return { do: 'rest', untilMs: stepDueMs }
  return now({ do: 'volts', volts: nextVolts(ramp.volts, back) })
}

function lookAt(dueMs: number, nowMs: number, latestMs = Number.POSITIVE_INFINITY): Wanted {
  return nowMs >= dueMs ? now(LOOK) : { do: 'rest', untilMs: Math.min(dueMs, latestMs) }
}

/** The output is on, or nobody can say that it is not. */
export function mayBeOn(state: KeeperState): boolean {
  return state.output.asked !== 'off' || state.back?.output === 'on' || state.blind !== null
}

/** When the beat will have been missed for too long; never while locked. */
export function beatDueMs(state: KeeperState): number {
  return state.locked === null ? state.beatMs + state.rules.beatLostMs : Number.POSITIVE_INFINITY
}

/** Measured volts that are still above where a move was to end. */
export function stillHigh(volts: number, measured: number): boolean {
  return measured > volts + voltsSlack(volts)
}
