import { z } from 'zod'
import { calendarDay, formatOne, words } from '../door/fields.ts'
import { DecisionRuleName } from '../kept/evidence.ts'

/** What one place and service allow, as somebody wrote it down: which modes, from where, as of when. It shows what was chosen; it does not decide the law. */
export const RuleCard = z
  .strictObject({
    format: formatOne(),
    'rule card': words(80),
    about: words(300).optional(),
    modes: z.array(z.enum(['FM', 'AM'])).min(1),
    /** How a value is accepted in a job under this card. */
    'decision rule': DecisionRuleName.default('simple acceptance'),
    source: words(200),
    date: calendarDay(),
  })
  .transform((card) => ({
    title: card['rule card'],
    about: card.about ?? '',
    modes: card.modes,
    decision: card['decision rule'],
    source: card.source,
    date: card.date,
  }))
export type RuleCard = z.infer<typeof RuleCard>
