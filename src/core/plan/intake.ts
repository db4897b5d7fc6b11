import { said, type Words } from '../../words/said/said.ts'
import type { JobPlan } from './lines.ts'

/** The set is treated as one whose chassis floats: its sheet says so, somebody measured it, or nobody did. */
export function chassisFloats({ procedure, intake }: Pick<JobPlan, 'procedure' | 'intake'>): boolean {
  return procedure.set.chassis === 'floating' || (intake !== null && intake.chassis !== 'to supply minus')
}

/** What follows from the answers for the hands, in words. */
export function intakeCautions({ procedure, intake }: Pick<JobPlan, 'procedure' | 'intake'>): readonly Words[] {
  if (!intake) return []
  const all: Words[] = []
  if (intake.chassis === 'to supply minus' && procedure.set.chassis === 'floating')
    all.push(said('intake.chassis-joined-though-floating'))
  if (intake.chassis === 'floating' && procedure.set.chassis !== 'floating')
    all.push(said('intake.chassis-found-floating'))
  if (intake.chassis === 'not measured') all.push(said('intake.chassis-not-measured'))
  if (intake.speaker !== 'one side to chassis')
    all.push(intake.speaker === 'bridged' ? said('intake.speaker-bridged') : said('intake.speaker-not-measured'))
  if (intake.tampered !== '') all.push(said('intake.tampered'))
  return all
}
