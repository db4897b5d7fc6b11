import type { JobPlan } from './lines.ts'

/** The set is treated as one whose chassis floats: its sheet says so, somebody measured it, or nobody did. */
export function chassisFloats({ procedure, intake }: Pick<JobPlan, 'procedure' | 'intake'>): boolean {
  return procedure.set.chassis === 'floating' || (intake !== null && intake.chassis !== 'to supply minus')
}

/** What follows from the answers for the hands, in words. */
export function intakeCautions({ procedure, intake }: Pick<JobPlan, 'procedure' | 'intake'>): readonly string[] {
  if (!intake) return []
  const said: string[] = []
  if (intake.chassis === 'to supply minus' && procedure.set.chassis === 'floating')
    said.push(
      'The sheet says that the chassis floats, and it was found joined to supply minus: find out why. Until then it is treated as floating.',
    )
  if (intake.chassis === 'floating' && procedure.set.chassis !== 'floating')
    said.push('The chassis was found floating: no common on the case, and nothing of it to mains earth.')
  if (intake.chassis === 'not measured')
    said.push('Nobody has measured whether the chassis floats: it is treated as floating. Not to earth.')
  if (intake.speaker !== 'one side to chassis')
    said.push(
      `Speaker ${intake.speaker === 'bridged' ? 'bridged' : 'not measured, so treated as bridged'}: neither of its leads to earth or to a grounded instrument.`,
    )
  if (intake.tampered !== '')
    said.push('Somebody was at this set before: what the sheet says of it may not hold. Compare before you turn.')
  return said
}
