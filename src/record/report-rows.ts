import { doubtOfChange } from '../core/uncertainty/captured-budget.ts'
import { gainOf } from '../core/uncertainty/correction.ts'
import { printText, printValue } from '../quantity/print-value.ts'
import type { KeptValue, RecordPayload } from '../schema/kept/record.ts'
import { type Said, said, type Words } from '../words/said/said.ts'

/** One line of the report: a quantity under its conditions, as found and as left, or as it was aligned. */
export interface ReportRow {
  readonly row: string
  readonly title: string
  readonly conditions: readonly Words[]
  readonly found: KeptValue | null
  readonly left: KeptValue | null
  /** The value the step ended with, where it was not read as found and as left. */
  readonly work: KeptValue | null
  /** By how much it changed, "+1.24 W", and the uncertainty of that, "0.02 W"; null where it was not read both times by one meter. */
  readonly change: { readonly by: string; readonly doubt: string } | null
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
  const change = found && left ? changeOf(found, left) : null
  return [{ row, title, conditions: conditionsOf(shown), found, left, work, change }]
}

/** Under which conditions a value was read, measured where they were measured. */
export function conditionsOf({ evidence, quantity }: KeptValue): readonly Words[] {
  const { plugVolts, channelWanted, channelSeen, state, tone, mode } = evidence.conditions
  return [
    quantity,
    ...(plugVolts === null ? [] : [said('report.at-plug', { volts: printText(plugVolts, 'V', 0.01) })]),
    ...(channelWanted === null ? [] : [said('report.channel', { channel: channelSeen ?? channelWanted })]),
    state === 'transmit' ? said('report.transmit', { mode }) : said('report.receive'),
    ...(tone === '' ? [] : [said('report.tone', { tone })]),
  ]
}

/** The change and its own doubt (k = 2): what the same meter on the same path reads wrong both times cancels. Another meter: nothing is said. */
function changeOf(found: KeptValue, left: KeptValue): ReportRow['change'] {
  const [a, b] = [found.evidence.facts, left.evidence.facts]
  if (a.instrument !== b.instrument || a.driver !== b.driver || a.pathLossDb !== b.pathLossDb) return null
  const step = b.step * gainOf(b)
  const change = left.value - found.value
  const sign = change < 0 ? '\u2212' : '+'
  const shown = printValue(Math.abs(change), b.unit, step)
  return {
    by: `${sign}${shown.digits} ${shown.unit}`,
    doubt: printText(doubtOfChange(found, left).expanded, b.unit, step),
  }
}

/** The sentence for an earlier value by its pass, and for one that was taken back. */
const AGAIN = {
  found: ['report.read-again-earlier-found', 'report.read-again-taken-back-found'],
  work: ['report.read-again-earlier', 'report.read-again-taken-back'],
  left: ['report.read-again-earlier-left', 'report.read-again-taken-back-left'],
} as const

/** Values that were read again later: the earlier reading stays readable, the later one counts. */
export function readAgain({ values }: RecordPayload): readonly Said[] {
  return values
    .filter(({ latest }) => !latest)
    .map((value) => {
      const { row, title, quantity, pass, takenBack, digits, unit } = value
      const [earlier, back] = AGAIN[pass]
      const places = { row, title, quantity, value: `${digits} ${unit}`, verdict: verdictWords(value) }
      return said(takenBack ? back : earlier, places)
    })
}

/** The four answers as they are said of a value inside its band, and of one outside. */
const ANSWER = {
  'in and clear': 'report.answer-in-and-clear',
  'in but touching': 'report.answer-in-but-touching',
  'out but touching': 'report.answer-out-but-touching',
  'out and clear': 'report.answer-out-and-clear',
} as const

/** By the decision rule of the job: against the band, and against the rule limit where that says more. */
export function verdictWords(value: KeptValue): Said {
  const { evidence, verdict, answer, limit, accepted } = value
  if (verdict === 'unread') return said('report.unread')
  if (answer === null) return said('report.peak')
  const inside = answer === 'in but touching' ? said('report.verdict-inside-touching') : said('report.verdict-inside')
  const simple = verdict === 'inside' ? inside : said('report.verdict-outside')
  const bare = evidence.decision === 'four answers' ? said(ANSWER[answer]) : simple
  const side =
    verdict === 'inside' ? bare : said(verdict === 'low' ? 'report.too-low' : 'report.too-high', { verdict: bare })
  const held = accepted || verdict !== 'inside' ? side : said('report.failed', { verdict: side })
  return limit === null ? held : said(LIMIT[limit], { verdict: held })
}

const LIMIT = {
  'in and clear': 'report.limit-within',
  'in but touching': 'report.limit-within-close',
  'out but touching': 'report.limit-exceeded-doubtful',
  'out and clear': 'report.limit-exceeded',
} as const

/** The result in one sentence. */
export function resultSentence({ steps, values }: RecordPayload): Said {
  const finals = values.filter(({ latest, pass }) => latest && pass !== 'found')
  const outside = finals.filter(({ accepted }) => !accepted)
  const count = finals.length
  const titles = [...new Set(outside.map(({ title }) => title))].join('; ')
  const readings =
    outside.length === 0
      ? said('report.result-readings-inside', { count })
      : said('report.result-readings-outside', { count, outside: outside.length, titles })
  const turned = steps.some(({ pass, state }) => pass === 'work' && state !== 'left out' && state !== 'to do')
  const rest = restOf(
    steps.filter(({ state }) => state === 'left out').length,
    steps.filter(({ state }) => state === 'to do').length,
  )
  if (rest === null) return said(turned ? 'report.result-aligned' : 'report.result-tested', { readings })
  return said(turned ? 'report.result-aligned-rest' : 'report.result-tested-rest', { readings, rest })
}

function restOf(left: number, open: number): Said | null {
  if (left > 0 && open > 0) return said('report.result-rest-both', { left, open })
  if (left > 0) return said('report.result-rest-left', { left })
  return open > 0 ? said('report.result-rest-open', { open }) : null
}
