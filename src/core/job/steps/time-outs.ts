import { readValue } from '../../../quantity/parse-value.ts'
import { type Said, said } from '../../../words/said/said.ts'
import { budgetOf } from '../state/job-seen.ts'
import type { Job } from '../state/job-types.ts'

/** Cautions of a keyed step during which the set would unkey itself. */
export function timeOutsOf(job: Job): readonly Said[] {
  const needsS = budgetOf(job).atMostS
  return job.plan.procedure.settings.flatMap(({ name, limitsKeyDown }) => {
    const set = job.settings.find((one) => one.name === name)
    const seconds = readValue(set?.job ?? '', 's')
    if (!limitsKeyDown || !seconds.ok || seconds.value <= 0 || seconds.value >= needsS) return []
    return [said('step.set-time-out', { setting: name, value: set?.job ?? '', seconds: `${needsS} s` })]
  })
}
