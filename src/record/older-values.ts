import { FIRST } from '../core/reading/algorithms.ts'
import { recompute } from '../core/reading/evidence.ts'
import { Evidence } from '../schema/kept/evidence.ts'

/** What every value of that time was accepted by; nothing else could be chosen, and it stood in the header alone. */
const ONLY_RULE = 'simple acceptance'

/**
 * A captured value as the first program that kept any (commit 217c31d) wrote it, in today's shape: what it did not say (answer, rule
 * limit, accepted) is worked out by the versions of that time, which are named. Anything else, and what is no value, as it is.
 */
export function upgradedValue(value: unknown): unknown {
  if (!isObject(value) || 'answer' in value || !isObject(value.evidence) || 'decision' in value.evidence) return value
  const evidence = Evidence.safeParse({ ...value.evidence, decision: ONLY_RULE, algorithms: FIRST })
  if (!evidence.success) return value
  const figures = recompute(evidence.data)
  if (!figures) return value
  const { answer, limit, accepted } = figures
  return { ...value, answer, limit, accepted, evidence: evidence.data }
}

/** How a record said that a torn line was cut off before its sentences were data. Never reworded: what was signed is folded anew and compared. */
export function olderTornCut(bytes: number): string {
  return `${bytes} bytes of a torn line were cut off`
}

/** The same for all values of a record's payload. */
export function upgradedPayload(payload: unknown): unknown {
  if (!isObject(payload) || !Array.isArray(payload.values)) return payload
  return { ...payload, values: payload.values.map(upgradedValue) }
}

function isObject(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}
