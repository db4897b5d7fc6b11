import type { Evidence } from '../../../schema/kept/evidence.ts'
import type { Captured } from '../../../schema/messages/live-frame.ts'
import { expectedGoal } from '../../goal/goal.ts'
import type { Step } from '../../goal/step.ts'
import { figuresOf, type Kept } from '../../reading/capture.ts'
import { evidenceOf } from '../../reading/evidence.ts'
import type { Live, LiveRule } from '../../reading/live.ts'
import { conditionsOf } from '../state/job-seen.ts'
import type { Job } from '../state/job-types.ts'
import { stopName } from './step-open.ts'

/** One quantity as it is kept, with its evidence; null while too few readings count. */
export function keptOf(
  job: Job,
  live: Live,
  rule: LiveRule,
  about: { readonly main: boolean; readonly by: Captured['by']; readonly number: number },
): Kept | null {
  const { step } = job.open
  const peaked = about.main && step.expect !== null && rule.goal.kind === 'peak'
  const highest = about.main && step.technique === 'highest'
  const how = {
    highest,
    decision: job.plan.decision,
    ...(peaked && step.expect ? { judged: expectedGoal(step.expect) } : {}),
  }
  const figures = figuresOf(live, rule, how)
  if (!figures) return null
  const which = stopName(job.open)
  return {
    number: about.number,
    pass: job.open.pass,
    step: step.id,
    row: step.row,
    title: which === '' ? step.title : `${step.title} (${which})`,
    quantity: live.quantity,
    at: job.wall,
    ...figures,
    by: about.by,
    latest: true,
    evidence: evidenceOf(live, rule, { ...how, technique: techniqueOf(step), conditions: conditionsOf(job) }),
  }
}

function techniqueOf({ technique }: Step): Evidence['technique'] {
  if (technique === 'do' || technique === 'settings' || technique === 'wait')
    throw new TypeError('nothing is measured in this step')
  return technique
}
