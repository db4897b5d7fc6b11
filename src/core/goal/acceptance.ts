import type { Captured } from '../../schema/messages/live-frame.ts'
import { type DecisionRule, decide, type Judged } from '../uncertainty/decision.ts'
import type { Goal } from './goal.ts'

/** What a value is said to be against its tolerance band and its rule limit, and whether both let it pass. */
export type Acceptance = Pick<Captured, 'answer' | 'limit' | 'accepted'>

/** Tolerance band and rule limit are judged apart and never merged; a value is accepted where both allow it. A bare peak has neither. */
export function acceptance(judged: Judged, goal: Goal, rule: DecisionRule): Acceptance {
  if (goal.kind === 'peak') return { answer: null, limit: null, accepted: true }
  const band = decide(rule, judged, goal.band)
  const limit = goal.rule ? decide(rule, judged, { ...goal.rule, aim: null }) : null
  return {
    answer: band.answer,
    limit: limit?.answer ?? null,
    accepted: band.accepted && (limit === null || limit.accepted),
  }
}
