import type { Captured, SettingView } from '../schema/live-frame.ts'
import { addCaptured } from './capture.ts'
import { startJob } from './job.ts'
import type { JobEntry } from './job-entries.ts'
import { firstPhase, setResult } from './job-steps.ts'
import type { Job, JobPlan } from './job-types.ts'
import { turnsSomething } from './lines.ts'
import { withSheet } from './sheet.ts'
import { openStep } from './step-open.ts'
import { turn } from './turn.ts'

/** What a journal says of a job, in its order: captured values without their evidence, results, settings. */
export type Remembered =
  | { readonly kind: 'captured'; readonly captured: Captured }
  | Extract<JobEntry, { readonly kind: 'step' | 'setting' }>
  /** Something on the board was turned: as found is closed. */
  | { readonly kind: 'turned' }

export const RESTORED =
  'the service ended in the middle of this job. It stands where it stood; nothing is switched on until you go on'

/** A job as it stood when its service ended: values, results and settings; paused, with nothing switched on. */
export function restoreJob(plan: JobPlan, remembered: readonly Remembered[], nowMs: number, wall: string): Job {
  const job = remembered.reduce((so, one) => remember(so, one), startJob(plan, nowMs, wall))
  const next = job.results.findIndex((result) => result.state === 'to do')
  const at = Math.max(0, next)
  const phase = next < 0 ? ({ name: 'finished' } as const) : ({ name: 'paused', words: RESTORED } as const)
  return withSheet(null, { ...job, at, open: openStep(plan, at), phase })
}

/**
 * A new job of a set that was found in an earlier one: what was read and written down as found stands, at its first step. Where something
 * was turned since, what is missing of it stays missing.
 */
export function continueJob(plan: JobPlan, earlier: readonly Remembered[], nowMs: number, wall: string): Job {
  const job = found(earlier).reduce((so, one) => remember(so, one), startJob(plan, nowMs, wall))
  const results = job.results.map((result, at) =>
    job.turned && plan.lines[at]?.pass === 'found' && result.state === 'to do'
      ? { state: 'left out' as const, reason: 'not read as found before something was turned' }
      : result,
  )
  const at = Math.max(
    0,
    results.findIndex(({ state }) => state === 'to do'),
  )
  return withSheet(null, { ...job, results, at, open: openStep(plan, at), phase: firstPhase(plan, at) })
}

/** What of an earlier job belongs to as found. */
export function found(earlier: readonly Remembered[]): readonly Remembered[] {
  return earlier.filter((one) => {
    switch (one.kind) {
      case 'captured':
        return one.captured.pass === 'found'
      case 'step':
        return one.pass === 'found'
      case 'setting':
        return one.column === 'found'
      case 'turned':
        return true
      default:
        return one satisfies never
    }
  })
}

function remember(job: Job, one: Remembered): Job {
  if (one.kind === 'turned') return { ...job, turned: true }
  const at = one.kind === 'setting' ? -1 : lineOf(job, one.kind === 'step' ? one : one.captured)
  switch (one.kind) {
    case 'captured': {
      const line = job.plan.lines[at]
      const turned = job.turned || (line !== undefined && turnsSomething(line))
      return { ...job, turned, captured: addCaptured(job.captured, { ...one.captured, latest: true }) }
    }
    case 'step':
      return at < 0 ? job : setResult(turn(job), at, one.state, one.reason).job
    case 'setting': {
      const reasoned = (so: SettingView) => (one.column === 'left' ? { reason: one.reason } : { reason: so.reason })
      const settings = job.settings.map((so) =>
        so.name === one.name ? { ...so, [one.column]: one.value, ...reasoned(so) } : so,
      )
      return { ...job, settings }
    }
    default:
      return one satisfies never
  }
}

function lineOf(job: Job, of: { readonly step: string; readonly pass: Captured['pass'] }): number {
  return job.plan.lines.findIndex(({ pass, step }) => step.id === of.step && pass === of.pass)
}
