import type { LiveEvent } from '../../../schema/messages/live-frame.ts'
import type { Words } from '../../../words/said/said.ts'
import { KEPT_EVENTS } from '../../guidance/kept-events.ts'
import type { Effect, Job, Phase, StepResult } from './job-types.ts'

/** A job on its way through one event, with the effects wanted so far. */
export interface Turn {
  readonly job: Job
  readonly effects: readonly Effect[]
}

export function turn(job: Job, ...effects: readonly Effect[]): Turn {
  return { job, effects }
}

export function want(before: Turn, ...effects: readonly Effect[]): Turn {
  return { job: before.job, effects: [...before.effects, ...effects] }
}

export function change(before: Turn, changes: Partial<Job>): Turn {
  return { job: { ...before.job, ...changes }, effects: before.effects }
}

export function changeOpen(before: Turn, changes: Partial<Job['open']>): Turn {
  return change(before, { open: { ...before.job.open, ...changes } })
}

export function enter(before: Turn, phase: Phase): Turn {
  return change(before, { phase })
}

export function setResult(before: Turn, at: number, state: StepResult['state'], reason: Words = ''): Turn {
  const results = before.job.results.map((result, index) => (index === at ? { state, reason } : result))
  return change(before, { results })
}

/** Something that happened once; pages play it once. */
export function tell(before: Turn, what: LiveEvent['what'], words: Words): Turn {
  const { events, nextId } = before.job
  return change(before, {
    nextId: nextId + 1,
    events: [...events.slice(1 - KEPT_EVENTS), { seq: nextId, what, words }],
  })
}
