import type { SupplyTrip } from '../../schema/kept/supply-trip-kind.ts'
import type { Captured, SettingView } from '../../schema/messages/live-frame.ts'
import { said, sameWords, type Words } from '../../words/said/said.ts'
import type { JobPlan } from '../plan/lines.ts'
import { turnsSomething } from '../plan/lines.ts'
import { notRaised, tripOnReopen } from '../plan/raising.ts'
import { markLatest } from '../reading/capture.ts'
import { startJob } from './job.ts'
import type { JobEntry } from './job-entries.ts'
import type { Job } from './state/job-types.ts'
import { withSheet } from './state/sheet.ts'
import { setResult, turn } from './state/turn.ts'
import { firstPhase } from './steps/job-steps.ts'
import { explained } from './steps/marks.ts'
import { openStep } from './steps/step-open.ts'

/** What a journal says of a job, in its order: captured values without their evidence, results, settings. */
export type Remembered =
  | { readonly kind: 'captured'; readonly captured: Captured }
  | Extract<JobEntry, { readonly kind: 'step' | 'setting' }>
  | Extract<JobEntry, { readonly kind: 'taken back' | 'mark' | 'explained' }>
  /** Something on the board was turned: as found is closed. */
  | { readonly kind: 'turned' }
  | { readonly kind: 'caution'; readonly words: Words }

export const RESTORED = said('job.restored')

/** A job as it stood when its service ended: values, results and settings; paused, with nothing switched on. */
export function restoreJob(plan: JobPlan, remembered: readonly Remembered[], nowMs: number, wall: string): Job {
  const job = remembered.reduce((so, one) => remember(so, one), startJob(plan, nowMs, wall))
  const next = job.results.findIndex((result) => result.state === 'to do')
  const at = Math.max(0, next)
  const phase = next < 0 ? ({ name: 'finished' } as const) : ({ name: 'paused', words: RESTORED } as const)
  return withSheet(null, { ...job, at, open: openStep(plan, at), phase })
}

/**
 * What the journal has to say of a job that is opened again on another supply than the head tells (`was`): that it is another one, and
 * each step that is left out for it from here on. Nothing where both are alike.
 */
export function reopenedEntries(
  { plan, results }: Pick<Job, 'plan' | 'results'>,
  remembered: readonly Remembered[],
  was: SupplyTrip | null,
  is: SupplyTrip,
): readonly JobEntry[] {
  const { changed } = tripOnReopen(was, is)
  const why = was === 'none' ? null : notRaised(plan.supplyTrip, plan.procedure.set)
  const isKnown = ({ step, pass }: (typeof plan.lines)[number]) =>
    remembered.some((one) => one.kind === 'step' && one.step === step.id && one.pass === pass)
  const left = plan.lines.flatMap((line, at): readonly JobEntry[] => {
    const { state, reason } = results[at] ?? { state: 'to do', reason: '' }
    if (why === null || line.leftOut === null || !sameWords(line.leftOut, why) || state !== 'left out' || isKnown(line))
      return []
    return [{ kind: 'step', step: line.step.id, pass: line.pass, state, reason }]
  })
  return [...(changed === '' ? [] : [{ kind: 'event' as const, what: 'supply trip', words: changed }]), ...left]
}

/** A new job of a set that was found in an earlier one: `stands` is what was read and written down as found there. At its first step. */
export function continueJob(plan: JobPlan, stands: readonly Remembered[], nowMs: number, wall: string): Job {
  const job = stands.reduce((so, one) => remember(so, one), startJob(plan, nowMs, wall))
  const at = Math.max(
    0,
    job.results.findIndex(({ state }) => state === 'to do'),
  )
  return withSheet(null, { ...job, at, open: openStep(plan, at), phase: firstPhase(plan, at) })
}

function remember(job: Job, one: Remembered): Job {
  switch (one.kind) {
    case 'turned':
      return { ...job, turned: true }
    case 'captured': {
      const line = job.plan.lines[lineOf(job, one.captured)]
      const turned = job.turned || (line !== undefined && turnsSomething(line))
      return { ...job, turned, captured: markLatest([...job.captured, one.captured]) }
    }
    case 'taken back': {
      const isBack = ({ number }: Captured) => one.numbers.includes(number)
      const captured = job.captured.map((so) => (isBack(so) ? { ...so, takenBack: true as const } : so))
      return { ...job, captured: markLatest(captured) }
    }
    case 'mark': {
      const { kind: _, ...is } = one
      return { ...job, marks: [...job.marks, { ...is, words: '' }] }
    }
    case 'explained':
      return { ...job, marks: explained(job.marks, one.mark, one.words) }
    case 'caution':
      return { ...job, cautionsSeen: [...job.cautionsSeen, one.words] }
    case 'step': {
      const at = lineOf(job, one)
      return at < 0 ? job : setResult(turn(job), at, one.state, one.reason).job
    }
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
