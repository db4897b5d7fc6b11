import type { StepLine } from '../../../schema/messages/live-frame.ts'
import type { Job } from './job-types.ts'

/** The job with its list of lines made anew, if anything in it changed since `before`. */
export function withSheet(before: Job | null, job: Job): Job {
  const same =
    before !== null &&
    before.results === job.results &&
    before.captured === job.captured &&
    before.at === job.at &&
    (before.phase.name === 'finished') === (job.phase.name === 'finished')
  return same ? job : { ...job, sheet: sheetOf(job) }
}

function sheetOf(job: Job): readonly StepLine[] {
  return job.plan.lines.map(({ id, pass, step }, at) => {
    const result = job.results[at] ?? { state: 'to do' as const, reason: '' }
    const open = at === job.at && job.phase.name !== 'finished' && result.state === 'to do'
    const kept = job.captured.filter((one) => one.step === step.id && one.pass === pass && one.latest)
    return {
      id,
      step: step.id,
      pass,
      row: step.row,
      title: step.title,
      state: open ? 'open' : result.state,
      result: result.reason !== '' ? result.reason : kept.map((one) => `${one.digits} ${one.unit}`).join(', '),
    }
  })
}
