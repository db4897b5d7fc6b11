import { said, type Words } from '../../../words/said/said.ts'
import { RAISED_BY_VOLTS } from '../state/job-seen.ts'
import type { Job } from '../state/job-types.ts'
import { change, enter, type Turn, turn } from '../state/turn.ts'
import { backToNormal, stopFor } from './job-steps.ts'

/** Nobody at the page that steers for this long: supply off, ms. */
export const NOBODY_MS = 10 * 60_000

/** The page that steers came or went. In receive at normal voltage nothing changes at once; else normal, whatever is going on. */
export function page(job: Job, present: boolean, why: Words): Turn {
  const absentSinceMs = present ? null : job.pagePresent ? job.nowMs : job.absentSinceMs
  const next = turn({ ...job, pagePresent: present, absentSinceMs })
  const raised = job.armed !== null && job.armed.volts > job.plan.procedure.set.supplyVolts + RAISED_BY_VOLTS
  if (present || job.armed === null || !(raised || job.key.keyed)) return next
  const rested = backToNormal(next, why)
  // What is on its way to the disk counts when it is there; `afterKeeping` goes on from then.
  if (job.phase.name === 'keeping') return rested
  const wasOn = job.supply?.output === 'on'
  const words = wasOn ? said('job.supply-to-normal', { why }) : said('job.nothing-was-raised', { why })
  return enter(rested, { name: 'paused', words })
}

/** A value is on the disk, and its step would go on; but the supply has gone back to normal meanwhile, and nobody is there to raise it. */
export function afterKeeping(after: Turn): Turn {
  const { job } = after
  const goesOn = job.phase.name === 'work' || job.phase.name === 'action'
  if (!goesOn || job.armed !== null || job.pagePresent) return after
  return enter(after, { name: 'paused', words: said('job.kept-nobody-there') })
}

/** Nobody has been there for ten minutes, or for as long as a warm-up takes by its step: the supply goes off. */
export function leftAlone(before: Turn): Turn {
  const { job } = before
  if (job.absentSinceMs === null || job.supply?.output !== 'on' || job.phase.name === 'stopped') return before
  const forMs = Math.max(NOBODY_MS, warmUpMs(job))
  if (job.nowMs - job.absentSinceMs < forMs) return before
  return stopFor(
    change(before, { absentSinceMs: null }),
    said('job.left-alone', { minutes: `${Math.round(forMs / 60_000)} min` }),
  )
}

/** How long the warm-up under way takes by its step, ms; 0 where there is none. */
function warmUpMs({ warming, plan, results, open, phase }: Job): number {
  if (warming && results[warming.at]?.state === 'to do') return plan.lines[warming.at]?.step.takesMs ?? 0
  return open.step.technique === 'wait' && phase.name !== 'finished' ? open.step.takesMs : 0
}
