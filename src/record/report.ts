import { CAUTION_SEEN, KEPT_AS_IT_IS, READ_AGAIN } from '../core/job/job-entries.ts'
import { tripWords } from '../core/plan/raising.ts'
import { gainOf } from '../core/uncertainty/correction.ts'
import { ruleWords } from '../core/uncertainty/decision.ts'
import { printText } from '../quantity/print-value.ts'
import { visibleText } from '../quantity/visible-text.ts'
import type { KeptValue, RecordPayload } from '../schema/kept/record.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { type ReportRow, readAgain, reportRows, resultSentence, verdictWords } from './report-rows.ts'

/** A record as one self-contained HTML file to print on A4 (the whole transmit sheet takes five), black and white, without script or outside address. */
export function reportPage(payload: RecordPayload, fingerprint: string, sha256OfFile: string): string {
  const { header } = payload
  const { twice, aligned } = reportRows(payload)
  const simulated = header.simulated ? '<p class="simulated">SIMULATED: no radio and no instrument was there</p>' : ''
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>${safe(`${header.serial} ${header.procedure.title} ${header.job}`)}</title>
<style>${STYLE}</style>
</head>
<body>
<table class="sheet"><thead><tr><td>
<div class="top"><span>Test and alignment report</span><span>Record ${safe(header.job)}</span></div>${simulated}
</td></tr></thead><tfoot><tr><td>
<div class="foot"><span>Record ${safe(header.job)}, key ${safe(fingerprint)}</span></div>
</td></tr></tfoot><tbody><tr><td>
<h1>${safe(header.procedure.title)}</h1>
<p class="set"><b>Serial ${safe(header.serial || 'not given')}</b><span>opened ${safe(when(payload.openedAt))}</span><span>closed ${safe(when(payload.closedAt))}</span></p>
${header.continues ? `<p>As found was read in job ${safe(header.continues.job)}, opened ${safe(when(header.continues.at))}, and stands from there.</p>` : ''}
${header.complaint === '' ? '' : `<p>Customer's words: \u201c${safe(header.complaint)}\u201d</p>`}
${intakeLine(header)}
<p class="result">${safe(resultSentence(payload))}</p>
${twice.length === 0 ? '' : twiceTable(twice)}
${aligned.length === 0 ? '' : alignedTable(aligned)}
${list('Left out and not done', leftOut(payload))}
${list('Read again', readAgain(payload))}
${settingsTable(payload)}
${instrumentsTable(payload)}
${header.supplyTrip === null ? '' : `<p class="small">${safe(sentence(tripWords(header.supplyTrip)))}</p>`}
${list('Conditions and events', events(payload))}
<p class="small">Decision rule, chosen before measuring: ${header.decisionRule}. ${safe(sentence(ruleWords(header.decisionRule)))} The doubt is k = 2, about 95 %. A band is the service sheet's; a rule limit stands apart and is never aimed above.${
    header.ruleCard
      ? ` Rule card: ${safe(header.ruleCard.title)}, ${safe(header.ruleCard.date)}, source: ${safe(header.ruleCard.source)}.`
      : ' No rule card was chosen.'
  }</p>
<p class="small">${safe(payload.sentence)}</p>
<p class="small">Key ${safe(fingerprint)}. SHA-256 of the record file: <span class="hash">${sha256OfFile}</span>. Journal of ${payload.journal.lines} lines ends in <span class="hash">${payload.journal.head}</span>. Procedure ${safe(header.procedure.file)}, SHA-256 <span class="hash">${header.procedure.sha256}</span>. ${safe(header.program)}.</p>
</td></tr></tbody></table>
</body>
</html>
`
}

function twiceTable(rows: readonly ReportRow[]): string {
  const body = rows.map(
    ({ row, title, conditions, found, left, work, change }) =>
      `<tr><td>${safe(row)}</td><td>${safe(title)}<br><span class="small">${safe(conditions)}</span></td>${cell(found)}${cell(left, work)}<td class="value">${changeLines(change)}</td><td>${safe((left ?? found)?.band ?? '')}</td><td>${left ? safe(verdictWords(left)) : 'not read as left'}</td></tr>`,
  )
  const heads = ['Row', 'Quantity', 'As found', 'As left', 'Change', 'Band', 'Result']
  return `${table('As found and as left', heads, body)}<p class="small">The doubt of a change is less than that of its two values: what one meter on one path reads wrong both times cancels, as far as it is the same.</p>`
}

function alignedTable(rows: readonly ReportRow[]): string {
  const body = rows.map(
    ({ row, title, conditions, work }) =>
      `<tr><td>${safe(row)}</td><td>${safe(title)}<br><span class="small">${safe(conditions)}</span></td>${cell(work)}<td>${safe(work?.band ?? '')}</td><td>${work ? safe(verdictWords(work)) : ''}</td></tr>`,
  )
  return table('Read while aligning', ['Row', 'Quantity', 'Value', 'Band', 'Result'], body)
}

/** "+1.24 W ± 0.02 W" on two lines. */
function changeLines(change: ReportRow['change']): string {
  if (!change) return ''
  return `${safe(change.by)}<br><span class="small">\u00b1 ${safe(change.doubt)}</span>`
}

/** A value with its doubt; `work` is what the step had ended with while aligning. */
function cell(value: KeptValue | null, work: KeptValue | null = null): string {
  if (!value) return '<td>not read</td>'
  const { facts } = value.evidence
  const doubt = printText(value.uncertainty, facts.unit, facts.step * gainOf(facts))
  const aligned = work ? `<br><span class="small">aligned to ${safe(`${work.digits} ${work.unit}`)}</span>` : ''
  return `<td class="value">${safe(`${value.digits} ${value.unit}`)}<br><span class="small">\u00b1 ${safe(doubt)}, ${safe(labelWords(value))}</span>${aligned}</td>`
}

function intakeLine({ intake }: RecordPayload['header']): string {
  if (!intake) return ''
  const { chassis, speaker, tampered } = intake
  const seen = tampered === '' ? 'no sign of earlier work' : `earlier work seen: \u201c${tampered}\u201d`
  return `<p>Before it was switched on: chassis ${safe(chassis)}, speaker ${safe(speaker)}, ${safe(seen)}.</p>`
}

/** How a value was come by; of a drifting one how fast it went; readings that count for nothing, at the meter. */
function labelWords({ label, slope, evidence }: KeptValue): string {
  const { facts, readings } = evidence
  const spikes = readings.filter(({ spike }) => spike).map(({ value }) => printText(value, facts.unit, facts.step))
  const aside =
    spikes.length === 0 ? '' : `, ${spikes.length === 1 ? 'spike' : 'spikes'} not counted: ${spikes.join(', ')}`
  return `${slope === undefined ? label : `${label} ${printText(slope, facts.unit)}/s`}${aside}`
}

function settingsTable({ settings }: RecordPayload): string {
  if (settings.length === 0) return ''
  const body = settings.map(
    ({ name, found, job, left, reason }) =>
      `<tr><td>${safe(name)}</td><td>${safe(found)}</td><td>${safe(job)}</td><td>${safe(left)}${reason === '' ? '' : `: ${safe(reason)}`}</td></tr>`,
  )
  return table('Settings of the set', ['Setting', 'As found', 'For this job', 'As left'], body)
}

function instrumentsTable({ header }: RecordPayload): string {
  const body = header.instruments.map(
    (one) =>
      `<tr><td>${safe(one.name)}</td><td>${safe(one.typed ? 'read by a person' : one.identity || 'did not answer')}</td><td>${safe(one.certificate)}</td><td>${safe(one.calibrationDue ?? '')}</td><td>${one.due}</td></tr>`,
  )
  return table('Instruments', ['Name', 'Answered as', 'Certificate', 'Check due', 'On that day'], body)
}

function leftOut({ header, steps }: RecordPayload): readonly string[] {
  return [
    ...header.notCovered.map((side) => `${side}: not part of this job`),
    ...steps.flatMap(({ row, title, state, reason, pass }) => {
      const name = `${row} ${title}${pass === 'work' ? '' : ` (as ${pass})`}`
      return state === 'left out' ? [`${name}: ${sentence(reason)}`] : state === 'to do' ? [`${name}: not done`] : []
    }),
  ]
}

function events(payload: RecordPayload): readonly string[] {
  return [
    ...(payload.header.bands.length > 0 ? [`Bands in use: ${payload.header.bands.join(', ')}.`] : []),
    `Key down ${Math.round(payload.keyDownS)} s in all.`,
    ...payload.answers.map(answerWords),
    ...payload.marks.map(
      ({ at, title, reading, words }) =>
        `${when(at)} marked at ${title}${reading === '' ? '' : `, ${sentence(reading)}`}: ${words || 'nothing was said of it'}`,
    ),
    ...payload.events.map(({ at, what, words }) => `${when(at)} ${what}: ${sentence(words)}`),
  ]
}

function answerWords({ question, answer }: RecordPayload['answers'][number]): string {
  if (answer === CAUTION_SEEN) return `Caution seen: ${sentence(question)}`
  return answer === KEPT_AS_IT_IS || answer === READ_AGAIN
    ? `Asked: ${sentence(question)}. Answer: ${answer}.`
    : `Done by hand: ${sentence(question)}.`
}

function table(title: string, heads: readonly string[], rows: readonly string[]): string {
  const head = heads.map((text) => `<th>${safe(text)}</th>`).join('')
  return `<h2>${safe(title)}</h2><table class="rows"><thead><tr>${head}</tr></thead><tbody>${rows.join('')}</tbody></table>`
}

function list(title: string, items: readonly string[]): string {
  if (items.length === 0) return ''
  return `<h2>${safe(title)}</h2><ul>${items.map((item) => `<li>${safe(item)}</li>`).join('')}</ul>`
}

const when = (iso: string) => `${iso.slice(0, 10)} ${iso.slice(11, 16)} UTC`

/** Text that comes from files, people and instruments, made harmless in HTML and to whoever reads it. */
function safe(text: string): string {
  const entities: Readonly<Record<string, string>> = {
    '&': '&amp;',
    '<': '&lt;',
    '>': '&gt;',
    '"': '&quot;',
    "'": '&#39;',
  }
  return visibleText(text).replace(/[&<>"']/g, (sign) => entities[sign] ?? sign)
}

const STYLE = `
@page { size: A4; margin: 14mm 14mm 16mm; @bottom-right { content: "page " counter(page) " of " counter(pages); font: 9pt sans-serif } }
* { box-sizing: border-box }
body { font: 10pt/1.35 "Liberation Sans", Arial, sans-serif; color: #000; background: #fff; margin: 0 auto; max-width: 190mm; padding: 6mm }
@media print { body { padding: 0; max-width: none } }
.sheet { width: 100%; border-collapse: collapse }
.sheet > * > tr > td { padding: 0 }
.top, .foot { display: flex; justify-content: space-between; font-size: 9pt; border-bottom: 1px solid #000; padding-bottom: 1mm; margin-bottom: 3mm }
.foot { border: 0; border-top: 1px solid #000; padding-top: 1mm; margin: 3mm 0 0 }
.simulated { border: 2px dashed #000; text-align: center; font-weight: bold; margin: 0 0 3mm; padding: 1mm }
h1 { font-size: 15pt; margin: 0 0 1mm }
h2 { font-size: 11pt; margin: 5mm 0 1mm; break-after: avoid }
.set { display: flex; gap: 6mm; margin: 0 0 2mm }
.result { font-size: 12pt; font-weight: bold; border: 1px solid #000; padding: 2mm 3mm; margin: 2mm 0 }
.rows { width: 100%; border-collapse: collapse }
.rows th { text-align: left; border-bottom: 1px solid #000; font-size: 9pt }
.rows td { border-bottom: 1px solid #999; vertical-align: top; padding: 0.7mm 2mm 0.7mm 0 }
.rows tr { break-inside: avoid }
.value { white-space: nowrap; font-variant-numeric: tabular-nums }
.small { font-size: 8.5pt }
.hash { font-family: "Liberation Mono", monospace; font-size: 7.5pt; overflow-wrap: anywhere }
ul { margin: 0; padding-left: 5mm }
`
