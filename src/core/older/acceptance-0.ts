import type { Acceptance } from '../goal/acceptance.ts'
import type { Goal } from '../goal/goal.ts'
import { decide, type Judged } from '../uncertainty/decision.ts'

/**
 * Version 0, never edited: a value was accepted where it lay inside its band; no answer and no rule limit was kept. Both are worked
 * out here from the value and the uncertainty that were, so that a record of that time can be read like any other.
 */
export function acceptanceZero(judged: Judged, goal: Goal): Acceptance {
  if (goal.kind === 'peak') return { answer: null, limit: null, accepted: true }
  const band = decide('simple acceptance', judged, goal.band)
  const limit = goal.rule ? decide('simple acceptance', judged, { ...goal.rule, aim: null }) : null
  return { answer: band.answer, limit: limit?.answer ?? null, accepted: band.accepted }
}
