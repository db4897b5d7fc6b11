import { sameWords, type Words } from '../../../words/said/said.ts'
import { isKeyed } from '../../goal/step.ts'
import { chassisFloats, intakeCautions } from '../../plan/intake.ts'
import { tripCautions } from '../../plan/raising.ts'
import { CAUTION_OF_COVER, cautionsOfJob, cautionsOfKeying } from '../../plan/usual-cautions.ts'
import { wantsKey } from '../state/job-seen.ts'
import type { Job } from '../state/job-types.ts'
import { change, type Turn } from '../state/turn.ts'

/** What a person has to know before the step at hand: of the set's own time-out, of its meters, of the step, of the supply, of the whole procedure. */
function cautionsOf(job: Job): readonly Words[] {
  const { open, plan } = job
  const timeOuts = wantsKey(job) ? open.timeOuts : []
  const all: readonly Words[] = [
    ...timeOuts,
    ...open.coarse,
    ...open.step.cautions,
    ...tripCautions(plan.supplyTrip, plan.procedure.set, job.wall.slice(0, 10)),
    ...intakeCautions(plan),
    ...usual(job),
    ...plan.procedure.cautions,
  ]
  return all.filter((words, at) => all.findIndex((one) => sameWords(one, words)) === at)
}

/** What every job shows, whoever wrote its procedure: at its first card, before a keyed step, and before the cover goes on. */
function usual({ open, plan }: Job): readonly Words[] {
  const keys = plan.lines.some(({ step, leftOut }) => leftOut === null && isKeyed(step))
  return [
    ...cautionsOfJob(plan.procedure, keys),
    ...(isKeyed(open.step) ? cautionsOfKeying(chassisFloats(plan)) : []),
    ...(keys && open.pass === 'left' ? [CAUTION_OF_COVER] : []),
  ]
}

/** The cautions of the step at hand: those that nobody has seen yet in this job, and those that were. */
export function cautionsNow(job: Job): { readonly fresh: readonly Words[]; readonly seen: readonly Words[] } {
  const all = cautionsOf(job)
  const isSeen = (words: Words) => job.cautionsSeen.some((one) => sameWords(one, words))
  return {
    fresh: all.filter((words) => !isSeen(words)),
    seen: all.filter(isSeen),
  }
}

/** The person goes on from a card that shows them: each is seen once per job. */
export function seeCautions(before: Turn): Turn {
  const { fresh } = cautionsNow(before.job)
  return fresh.length === 0 ? before : change(before, { cautionsSeen: [...before.job.cautionsSeen, ...fresh] })
}
