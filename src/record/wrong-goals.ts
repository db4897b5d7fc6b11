import { expectedGoal, goalOfQuantity } from '../core/goal/goal.ts'
import { linesOf } from '../core/plan/lines.ts'
import { isRaised, notRaised } from '../core/plan/raising.ts'
import { keptGoal } from '../core/reading/evidence.ts'
import { wholeWords } from '../fault/bench-error.ts'
import { readYamlText } from '../schema/door/yaml-door.ts'
import { Procedure } from '../schema/files/procedure-file.ts'
import type { KeptGoal } from '../schema/kept/evidence.ts'
import type { KeptValue, RecordPayload } from '../schema/kept/record.ts'
import { type Said, said } from '../words/said/said.ts'

/**
 * Values that were not held against what the sheet in the record says of their step. Where the sheet says "channel", the frequency is
 * taken from the value itself: the channel plan is not in a record. Nor may a step be read above normal on a supply that is not raised. A value from an earlier job was held against that job's sheet.
 */
export function wrongGoals({ header, values }: RecordPayload): readonly Said[] {
  const { file, text } = header.procedure
  let procedure: Procedure
  try {
    procedure = readYamlText(text, `${file} in the record`, Procedure)
  } catch (error) {
    return [said('record.sheet-unreadable', { why: wholeWords(error) })]
  }
  const tooHigh = header.supplyTrip === null ? null : notRaised(header.supplyTrip, procedure.set)
  const steps = new Map(linesOf(procedure, null, 'own').map(({ step }) => [step.id, step]))
  return values.flatMap((value): Said[] => {
    if (value.from !== undefined) return []
    const { number, title, quantity } = value
    const wrong = (what: Said) => [said('record.of-value', { number, title, quantity, what })]
    const { goal, judgedAgainst } = value.evidence
    const step = steps.get(value.step)
    const wanted = step && goalOfQuantity(step, value.quantity, channelHzIn(goal))
    if (!step || !wanted) return wrong(said('record.sheet-no-reading'))
    const sheet = keptGoal(wanted)
    if (!same(sheet, goal)) return wrong(said('record.sheet-says', { sheet: inWords(sheet), kept: inWords(goal) }))
    if (tooHigh !== null && isRaised(step, procedure.set))
      return wrong(said('record.read-above-normal', { why: tooHigh }))
    const expected = judgedBySheet(value, step.expect)
    return same(expected, judgedAgainst)
      ? []
      : wrong(said('record.sheet-expects', { sheet: inWords(expected), kept: inWords(judgedAgainst) }))
  })
}

function channelHzIn(goal: KeptGoal): number | null {
  return goal.kind === 'band' ? goal.aim : null
}

function judgedBySheet(
  { evidence }: KeptValue,
  expect: { readonly low: number; readonly high: number } | null,
): KeptGoal | null {
  return evidence.goal.kind === 'peak' && expect !== null ? keptGoal(expectedGoal(expect)) : null
}

function same(a: KeptGoal | null, b: KeptGoal | null): boolean {
  const text = (goal: KeptGoal | null) => JSON.stringify(goal === null ? null : Object.entries(goal).sort())
  return text(a) === text(b)
}

function inWords(goal: KeptGoal | null): Said {
  if (goal === null) return said('record.goal-nothing')
  if (goal.kind === 'peak') return said(goal.dip ? 'record.goal-minimum' : 'record.goal-maximum')
  const places = { band: span(goal.low, goal.high), aim: span(goal.aimLow, goal.aimHigh) }
  return goal.ruleLow === null && goal.ruleHigh === null
    ? said('record.goal-band', places)
    : said('record.goal-band-rule', { ...places, rule: span(goal.ruleLow, goal.ruleHigh) })
}

function span(low: number | null, high: number | null): string {
  return `${low ?? '-'} .. ${high ?? '-'}`
}
