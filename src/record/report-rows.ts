import { doubtOfChange } from '../core/uncertainty/captured-budget.ts'
import { gainOf } from '../core/uncertainty/correction.ts'
import { printText, printValue } from '../quantity/print-value.ts'
import type { KeptValue, RecordPayload } from '../schema/kept/record.ts'

/** One line of the report: a quantity under its conditions, as found and as left, or as it was aligned. */
export interface ReportRow {
  readonly row: string
  readonly title: string
  readonly conditions: string
  readonly found: KeptValue | null
  readonly left: KeptValue | null
  /** The value the step ended with, where it was not read as found and as left. */
  readonly work: KeptValue | null
  /** "+1.24 W ± 0.02 W"; "" where it was not read both times by one meter. */
  readonly change: string
}

/** The rows in the order of the sheet: what was read twice first, under its own heading; then what was read while aligning. */
export function reportRows(payload: RecordPayload): {
  readonly twice: readonly ReportRow[]
  readonly aligned: readonly ReportRow[]
} {
  const latest = payload.values.filter((value) => value.latest)
  const keys = [...new Set(latest.map(keyOf))]
  const rows = keys.flatMap((key) => rowOf(latest.filter((value) => keyOf(value) === key)))
  return {
    twice: rows.filter(({ found, left }) => found || left),
    aligned: rows.filter(({ found, left }) => !found && !left),
  }
}

const keyOf = ({ step, title, quantity }: KeptValue) => [step, title, quantity].join('\n')

function rowOf(values: readonly KeptValue[]): readonly ReportRow[] {
  const of = (pass: KeptValue['pass']) => values.find((value) => value.pass === pass) ?? null
  const [found, left, work] = [of('found'), of('left'), of('work')]
  const shown = left ?? work ?? found
  if (!shown) return []
  const { row, title } = shown
  const change = found && left ? changeOf(found, left) : ''
  return [{ row, title, conditions: conditionsOf(shown), found, left, work, change }]
}

/** Under which conditions a value was read, measured where they were measured. */
export function conditionsOf({ evidence, quantity }: KeptValue): string {
  const { plugVolts, channelWanted, channelSeen, state, tone, mode } = evidence.conditions
  const words = [
    quantity,
    plugVolts === null ? '' : `${printText(plugVolts, 'V', 0.01)} at the plug`,
    channelWanted === null ? '' : `channel ${channelSeen ?? channelWanted}`,
    state === 'transmit' ? `transmit ${mode}` : 'receive',
    tone === '' ? '' : `tone ${tone}`,
  ]
  return words.filter((word) => word !== '').join(', ')
}

/** The change and its own doubt (k = 2): what the same meter on the same path reads wrong both times cancels. Another meter: nothing is said. */
function changeOf(found: KeptValue, left: KeptValue): string {
  const [a, b] = [found.evidence.facts, left.evidence.facts]
  if (a.instrument !== b.instrument || a.driver !== b.driver || a.pathLossDb !== b.pathLossDb) return ''
  const step = b.step * gainOf(b)
  const change = left.value - found.value
  const sign = change < 0 ? '\u2212' : '+'
  const shown = printValue(Math.abs(change), b.unit, step)
  return `${sign}${shown.digits} ${shown.unit} \u00b1 ${printText(doubtOfChange(found, left).expanded, b.unit, step)}`
}

/** Values that were read again later, in words: the earlier reading stays readable, the later one counts. */
export function readAgain({ values }: RecordPayload): readonly string[] {
  return values
    .filter(({ latest }) => !latest)
    .map((value) => {
      const pass = value.pass === 'work' ? 'while aligning' : `as ${value.pass}`
      const how = value.takenBack ? 'taken back' : 'earlier'
      return `${value.row} ${value.title}, ${value.quantity}, ${pass}: ${how} ${value.digits} ${value.unit} (${verdictWords(value)})`
    })
}

/** In words, by the decision rule of the job: against the band, and against the rule limit where that says more. */
export function verdictWords(value: KeptValue): string {
  const { evidence, verdict, answer, limit, accepted } = value
  if (verdict === 'unread') return 'unread'
  if (answer === null) return 'peak'
  const side = verdict === 'inside' ? '' : verdict === 'low' ? ', too low' : ', too high'
  const four = `${verdict === 'inside' ? answer : answer.toUpperCase()}${side}`
  const touching = answer === 'in but touching' ? 'inside, doubt touches the edge' : 'inside'
  const simple = verdict === 'inside' ? touching : `OUTSIDE${side}`
  const said = evidence.decision === 'four answers' ? four : simple
  const failed = accepted || verdict !== 'inside' ? '' : ': NO PASS'
  return `${said}${failed}${limit === null ? '' : limitWords(limit)}`
}

function limitWords(limit: NonNullable<KeptValue['limit']>): string {
  switch (limit) {
    case 'in and clear':
      return '; within the rule limit'
    case 'in but touching':
      return '; within the rule limit, but closer to it than the uncertainty'
    case 'out but touching':
      return '; RULE LIMIT EXCEEDED, but by less than the uncertainty'
    case 'out and clear':
      return '; RULE LIMIT EXCEEDED'
    default:
      return limit satisfies never
  }
}

/** The result in one sentence. */
export function resultSentence(payload: RecordPayload): string {
  const { steps, values } = payload
  const finals = values.filter(({ latest, pass }) => latest && pass !== 'found')
  const outside = finals.filter(({ accepted }) => !accepted)
  const left = steps.filter(({ state }) => state === 'left out').length
  const open = steps.filter(({ state }) => state === 'to do').length
  const inside =
    outside.length === 0
      ? 'every one inside its band'
      : `${outside.length} outside: ${[...new Set(outside.map(({ title }) => title))].join('; ')}`
  const turned = steps.some(({ pass, state }) => pass === 'work' && state !== 'left out' && state !== 'to do')
  const what = turned ? 'Aligned and tested' : 'Tested, no adjustment made'
  const rest = [left > 0 ? `${left} left out` : '', open > 0 ? `${open} not done` : ''].filter((word) => word !== '')
  return `${what}: ${finals.length} final readings, ${inside}${rest.length > 0 ? `; ${rest.join(', ')}` : ''}.`
}
