import { z } from 'zod'
import { parseAtDoor } from '../door/door.ts'
import { DecisionRuleName } from '../kept/evidence.ts'
import { Intake } from '../kept/intake.ts'
import { LearnedEffect } from '../kept/record.ts'
import { SupplyTrip } from '../kept/supply-trip-kind.ts'
import { WordsShape } from '../kept/words.ts'
import { FromKeeper, SupplyState } from '../messages/keeper-message.ts'
import { Failure } from './course-line.ts'

const text = z.string()
/** What a journal says of a job, looked at no closer than its kind: it was read from a journal when it was written down here. */
const remembered = z.array(
  z.looseObject({
    kind: z.enum(['captured', 'step', 'setting', 'taken back', 'mark', 'explained', 'turned', 'caution']),
  }),
)
const openJob = z.strictObject({
  job: text,
  serial: text,
  procedure: text,
  startedAt: text,
  captured: z.int().nonnegative(),
})
const closedJob = z.strictObject({ job: text, serial: text, procedure: text, closedAt: text })
const ruleCard = z.strictObject({
  title: text,
  about: text,
  modes: z.array(z.enum(['FM', 'AM'])),
  decision: DecisionRuleName,
  source: text,
  date: text,
})
const acted = FromKeeper.options[4]

/** What comes back from outside, by what was asked. Each reader throws SCHEMA_REJECTED. */
export const readState = reader(SupplyState)
export const readFailure = reader(Failure)
export const readActed = reader(acted)
export const readText = reader(text)
export const readWords = reader(WordsShape)
export const readNumber = reader(z.number())
export const readYes = reader(z.boolean())
export const readSupplyIs = reader(z.strictObject({ identity: text, simulated: z.boolean() }))
export const readJobs = reader(z.strictObject({ open: z.array(openJob), closed: z.array(closedJob) }))
export const readEffects = reader(z.array(LearnedEffect))
export const readStarted = reader(z.strictObject({ jobId: text, earlier: remembered }))
export const readSigned = reader(z.strictObject({ record: text, fingerprint: text }))
export const readReopened = reader(
  z.strictObject({
    file: text,
    procedure: text,
    card: ruleCard.nullable(),
    serial: text,
    bands: z.array(text),
    intake: Intake.nullable(),
    remembered,
    supplyTrip: SupplyTrip.nullable(),
  }),
)

function reader<T>(schema: z.ZodType<T>): (written: unknown) => T {
  return (written) => parseAtDoor(schema, written, 'what came back')
}
