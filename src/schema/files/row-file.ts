import { z } from 'zod'
import { keysAt } from '../door/field-fault.ts'
import { AsksFor, asksForBands } from './asks-for.ts'
import { MeasuredStep, stepId } from './step-file.ts'

const words = z.string().trim().min(1)
const stepHead = { id: stepId, row: words.optional(), title: words, 'leave out': words.optional() }

/** Something done by hand and confirmed. */
const DoStep = z
  .strictObject({
    ...stepHead,
    do: words,
    'asks for': AsksFor.optional(),
    caution: z.union([words, z.array(words)]).optional(),
  })
  .transform((step) => ({
    kind: 'do' as const,
    id: step.id,
    row: step.row ?? step.id,
    title: step.title,
    words: step.do,
    asksForBands: asksForBands(step['asks for'], step.do),
    cautions: step.caution === undefined ? [] : [step.caution].flat(),
    leftOut: step['leave out'] ?? null,
  }))

/** The set's own settings written down: as found (and for this job), or as left. */
const SettingsStep = z.strictObject({ ...stepHead, settings: z.enum(['as found', 'as left']) }).transform((step) => ({
  kind: 'settings' as const,
  id: step.id,
  row: step.row ?? step.id,
  title: step.title,
  column: step.settings === 'as found' ? ('found' as const) : ('left' as const),
  leftOut: step['leave out'] ?? null,
}))

/** Steps read again with nothing turned: as found before the first turn, or as left at the end. */
const ReadAgainStep = z
  .strictObject({ ...stepHead, read: z.array(stepId).min(1), as: z.enum(['found', 'left']), before: words.optional() })
  .transform((step) => ({
    kind: 'read again' as const,
    id: step.id,
    row: step.row ?? step.id,
    title: step.title,
    steps: step.read,
    pass: step.as,
    before: step.before ?? '',
    leftOut: step['leave out'] ?? null,
  }))

/** A row is told by its own word: do, settings, read, else it is measured. */
export const RowFile = z.unknown().transform((row, ctx) => {
  const has = (field: string) => typeof row === 'object' && row !== null && Object.hasOwn(row, field)
  const shape = has('do') ? DoStep : has('settings') ? SettingsStep : has('read') ? ReadAgainStep : MeasuredStep
  const parsed = shape.safeParse(row)
  if (parsed.success) return parsed.data
  for (const issue of parsed.error.issues) ctx.addIssue({ ...issue, right: keysAt(shape, issue.path) })
  return z.NEVER
})
export type Row = z.infer<typeof DoStep> | z.infer<typeof SettingsStep> | z.infer<typeof ReadAgainStep> | MeasuredStep
