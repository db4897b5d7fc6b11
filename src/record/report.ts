import { CAUTION_SEEN, KEPT_AS_IT_IS, READ_AGAIN } from '../core/job/job-entries.ts'
import { tripWords } from '../core/plan/raising.ts'
import { gainOf } from '../core/uncertainty/correction.ts'
import { ruleWords } from '../core/uncertainty/decision.ts'
import { printText } from '../quantity/print-value.ts'
import type { KeptValue, RecordPayload } from '../schema/kept/record.ts'
import { type Said, said, type Words } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { asItIs, type Html, html } from './html.ts'
import { type ReportRow, readAgain, reportRows, resultSentence, verdictWords } from './report-rows.ts'

/** A record as one self-contained HTML file to print on A4 (the whole transmit sheet takes five), black and white, without script or outside address. */
export function reportPage(payload: RecordPayload, fingerprint: string, sha256OfFile: string): string {
  const { header } = payload
  const { twice, aligned } = reportRows(payload)
  const { job, serial, procedure } = header
  const page = html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>${`${serial} ${procedure.title} ${job}`}</title>
<style>${style()}</style>
</head>
<body>
<table class="sheet"><thead><tr><td>
<div class="top"><span>${said('report.title')}</span><span>${said('report.record', { job })}</span></div>${
    header.simulated ? html`<p class="simulated">${said('report.simulated')}</p>` : null
  }
</td></tr></thead><tfoot><tr><td>
<div class="foot"><span>${said('report.record-and-key', { job, fingerprint })}</span></div>
</td></tr></tfoot><tbody><tr><td>
<h1>${procedure.title}</h1>
<p class="set"><b>${serial === '' ? said('report.serial-missing') : said('report.serial', { serial })}</b><span>${said('report.opened', { when: when(payload.openedAt) })}</span><span>${said('report.closed', { when: when(payload.closedAt) })}</span></p>
${header.continues ? html`<p>${said('report.continues', { job: header.continues.job, when: when(header.continues.at) })}</p>` : null}
${header.complaint === '' ? null : html`<p>${said('report.complaint', { complaint: header.complaint })}</p>`}
${intakeLine(header)}
<p class="result">${resultSentence(payload)}</p>
${twice.length === 0 ? null : twiceTable(twice)}
${aligned.length === 0 ? null : alignedTable(aligned)}
${list(said('report.left-out-and-not-done'), leftOut(payload))}
${list(said('report.read-again'), readAgain(payload))}
${settingsTable(payload)}
${instrumentsTable(payload)}
${header.supplyTrip === null ? null : html`<p class="small">${tripWords(header.supplyTrip)}</p>`}
${list(said('report.conditions-and-events'), events(payload))}
<p class="small">${decisionWords(header)}</p>
<p class="small">${said('record.what-it-is')}</p>
<p class="small">${withHashes(filesWords(payload, fingerprint, sha256OfFile))}</p>
</td></tr></tbody></table>
</body>
</html>
`
  return page.html
}

const RULE = {
  'simple acceptance': 'report.rule-simple',
  'guarded acceptance': 'report.rule-guarded',
  'four answers': 'report.rule-four',
} as const

function decisionWords({ decisionRule, ruleCard }: RecordPayload['header']): Said {
  const card = ruleCard
    ? said('report.rule-card', { title: ruleCard.title, date: ruleCard.date, source: ruleCard.source })
    : said('report.no-card')
  return said('report.decision', { rule: said(RULE[decisionRule]), words: ruleWords(decisionRule), card })
}

/** What the report is made from, so that each file can be told from any other. */
function filesWords({ header, journal }: RecordPayload, fingerprint: string, sha: string): Said {
  const { file, sha256: fileSha } = header.procedure
  const { lines, head } = journal
  return said('report.files', { fingerprint, sha, lines, head, file, fileSha, program: header.program })
}

/** A sentence with its SHA-256 sums in small even digits. */
function withHashes(words: Said): Html {
  return asItIs(html`${words}`.html.replace(/\b[0-9a-f]{64}\b/g, '<span class="hash">$&</span>'))
}

function twiceTable(rows: readonly ReportRow[]): Html {
  const body = rows.map(
    ({ row, title, conditions, found, left, work, change }) =>
      html`<tr>${quantityCells({ row, title, conditions })}${cell(found)}${cell(left, work)}<td class="value">${changeLines(change)}</td><td>${(left ?? found)?.band ?? ''}</td><td>${left ? verdictWords(left) : said('report.not-read-as-left')}</td></tr>`,
  )
  const heads = [
    said('report.row'),
    said('report.quantity'),
    said('report.as-found'),
    said('report.as-left'),
    said('report.change'),
    said('report.band'),
    said('report.result'),
  ]
  return html`${table(said('report.as-found-and-left'), heads, body)}<p class="small">${said('report.doubt-of-change')}</p>`
}

function alignedTable(rows: readonly ReportRow[]): Html {
  const body = rows.map(
    ({ row, title, conditions, work }) =>
      html`<tr>${quantityCells({ row, title, conditions })}${cell(work)}<td>${work?.band ?? ''}</td><td>${work ? verdictWords(work) : null}</td></tr>`,
  )
  const heads = [
    said('report.row'),
    said('report.quantity'),
    said('report.value'),
    said('report.band'),
    said('report.result'),
  ]
  return table(said('report.read-while-aligning'), heads, body)
}

/** What was read, and under which conditions. */
function quantityCells({ row, title, conditions }: Pick<ReportRow, 'row' | 'title' | 'conditions'>): Html {
  const below = conditions.map((one) => sentence(one)).join(', ')
  return html`<td>${row}</td><td>${title}<br><span class="small">${below}</span></td>`
}

/** "+1.24 W ± 0.02 W" on two lines. */
function changeLines(change: ReportRow['change']): Html | null {
  if (!change) return null
  return html`${change.by}<br><span class="small">${said('report.doubt', { doubt: change.doubt })}</span>`
}

/** A value with its doubt; `work` is what the step had ended with while aligning. */
function cell(value: KeptValue | null, work: KeptValue | null = null): Html {
  if (!value) return html`<td>${said('report.not-read')}</td>`
  const aligned = work
    ? html`<br><span class="small">${said('report.aligned-to', { value: `${work.digits} ${work.unit}` })}</span>`
    : null
  return html`<td class="value">${`${value.digits} ${value.unit}`}<br><span class="small">${doubtWords(value)}</span>${aligned}</td>`
}

const CHASSIS = {
  'to supply minus': 'report.intake-to-minus',
  floating: 'report.intake-floating',
  'not measured': 'report.intake-not-measured',
} as const
const SPEAKER = {
  'one side to chassis': 'report.intake-one-side',
  bridged: 'report.intake-bridged',
  'not measured': 'report.intake-not-measured',
} as const

function intakeLine({ intake }: RecordPayload['header']): Html | null {
  if (!intake) return null
  const { chassis, speaker, tampered } = intake
  const seen = tampered === '' ? said('report.intake-untouched') : said('report.intake-tampered', { what: tampered })
  const places = { chassis: said(CHASSIS[chassis]), speaker: said(SPEAKER[speaker]), seen }
  return html`<p>${said('report.intake', places)}</p>`
}

const LABEL = {
  settled: 'report.label-settled',
  drifting: 'report.label-drifting',
  short: 'report.label-short',
  peaked: 'report.label-peaked',
  highest: 'report.label-highest',
  typed: 'report.label-typed',
} as const

/** The doubt, and how a value was come by; of a drifting one how fast it went; readings that count for nothing, at the meter. */
function doubtWords({ label: how, slope, uncertainty, evidence }: KeptValue): Said {
  const { facts, readings } = evidence
  const doubt = printText(uncertainty, facts.unit, facts.step * gainOf(facts))
  const label =
    slope === undefined ? said(LABEL[how]) : said('report.label-drifting-at', { slope: printText(slope, facts.unit) })
  const spikes = readings.filter(({ spike }) => spike).map(({ value }) => printText(value, facts.unit, facts.step))
  if (spikes.length === 0) return said('report.doubt-and-label', { doubt, label })
  return said(spikes.length === 1 ? 'report.doubt-label-spike' : 'report.doubt-label-spikes', { doubt, label, spikes })
}

function settingsTable({ settings }: RecordPayload): Html | null {
  if (settings.length === 0) return null
  const body = settings.map(
    ({ name, found, job, left, reason }) =>
      html`<tr><td>${name}</td><td>${found}</td><td>${job}</td><td>${reason === '' ? left : said('report.setting-because', { value: left, reason })}</td></tr>`,
  )
  const heads = [said('report.setting'), said('report.as-found'), said('report.for-this-job'), said('report.as-left')]
  return table(said('report.settings'), heads, body)
}

const DUE = {
  'in date': 'report.due-in-date',
  overdue: 'report.due-overdue',
  'not said': 'report.due-not-said',
} as const

function instrumentsTable({ header }: RecordPayload): Html {
  const body = header.instruments.map(({ name, typed, identity, certificate, calibrationDue, due }) => {
    const answered = typed ? said('report.read-by-person') : identity || said('report.did-not-answer')
    return html`<tr><td>${name}</td><td>${answered}</td><td>${certificate}</td><td>${calibrationDue ?? ''}</td><td>${said(DUE[due])}</td></tr>`
  })
  const heads = [
    said('report.name'),
    said('report.answered-as'),
    said('report.certificate'),
    said('report.check-due'),
    said('report.on-that-day'),
  ]
  return table(said('report.instruments'), heads, body)
}

const STEP = { found: 'report.step-as-found', work: 'report.step', left: 'report.step-as-left' } as const

function leftOut({ header, steps }: RecordPayload): readonly Said[] {
  return [
    ...header.notCovered.map((side) => said('report.not-part', { side })),
    ...steps.flatMap(({ row, title, state, reason, pass }) => {
      const step = said(STEP[pass], { row, title })
      if (state === 'left out') return [said('report.step-left-out', { step, reason })]
      return state === 'to do' ? [said('report.step-not-done', { step })] : []
    }),
  ]
}

function events({ header, keyDownS, answers, marks, events: all }: RecordPayload): readonly Words[] {
  return [
    ...(header.bands.length > 0 ? [said('report.bands', { bands: header.bands })] : []),
    said('report.key-down', { seconds: Math.round(keyDownS) }),
    ...answers.map(answerWords),
    ...marks.map(({ at, title, reading, words: explained }) => {
      const words = explained === '' ? said('report.mark-unexplained') : explained
      return reading === ''
        ? said('report.marked', { when: when(at), title, words })
        : said('report.marked-reading', { when: when(at), title, reading, words })
    }),
    ...all.map(({ at, what, words }) => said('report.event', { when: when(at), what: kindOf(what), words })),
  ]
}

/** The kinds of event; those of an older or newer program are shown as they are. */
const KINDS = {
  'as found closed': 'report.event-as-found-closed',
  clock: 'report.event-clock',
  finished: 'report.event-finished',
  'link back': 'report.event-link-back',
  'link lost': 'report.event-link-lost',
  'no effect': 'report.event-no-effect',
  note: 'report.event-note',
  old: 'report.event-old',
  program: 'report.event-program',
  resumed: 'report.event-resumed',
  snap: 'report.event-snap',
  stopped: 'report.event-stopped',
  'supply normal': 'report.event-supply-normal',
  'supply safe': 'report.event-supply-safe',
  'supply trip': 'report.event-supply-trip',
} as const

function kindOf(what: string): Words {
  return isKind(what) ? said(KINDS[what]) : what
}

function isKind(what: string): what is keyof typeof KINDS {
  return Object.hasOwn(KINDS, what)
}

function answerWords({ question, answer }: RecordPayload['answers'][number]): Said {
  if (answer === CAUTION_SEEN) return said('report.caution-seen', { caution: question })
  if (answer === KEPT_AS_IT_IS) return said('report.answered-kept', { question })
  return answer === READ_AGAIN
    ? said('report.answered-read-again', { question })
    : said('report.done-by-hand', { what: question })
}

function table(title: Said, heads: readonly Said[], rows: readonly Html[]): Html {
  const head = heads.map((one) => html`<th>${one}</th>`)
  return html`<h2>${title}</h2><table class="rows"><thead><tr>${head}</tr></thead><tbody>${rows}</tbody></table>`
}

function list(title: Said, items: readonly Words[]): Html | null {
  if (items.length === 0) return null
  return html`<h2>${title}</h2><ul>${items.map((item) => html`<li>${item}</li>`)}</ul>`
}

const when = (iso: string) => said('report.when', { date: iso.slice(0, 10), time: iso.slice(11, 16) })

/** The page's number is told by the printer: in the style it stands between the words of the sentence. */
function style(): Html {
  const counted = said('report.page', { page: '\u0001page\u0001', pages: '\u0001pages\u0001' })
  const parts = sentence(counted).split('\u0001')
  const content = parts.map((part, at) => (at % 2 === 1 ? `counter(${part})` : JSON.stringify(part)))
  return asItIs(STYLE.replace('PAGE', content.filter((part) => part !== '""').join(' ')))
}

const STYLE = `
@page { size: A4; margin: 14mm 14mm 16mm; @bottom-right { content: PAGE; font: 9pt sans-serif } }
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
