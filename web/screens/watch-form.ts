import type { Quantity } from '../../src/quantity/quantity.ts'
import type { ToPage } from '../../src/schema/messages/shown.ts'
import { button, make } from '../draw/dom.ts'
import { dayWords } from '../words/figures.ts'
import { quantityWords } from '../words/quantities.ts'
import { openJobWords } from '../words/words.ts'
import { FORM, supplyLead } from '../words/words-of-forms.ts'
import { pick, textField } from './form-parts.ts'

/** What the service says of its bench when a page connects. */
export type Welcome = Extract<ToPage, { kind: 'welcome' }>

/** The first screen: pick a reading, say what it should be, turn. */
export interface WatchFormEnds {
  /** What is watched now, to begin with. */
  readonly quantity: Quantity | null
  /** Null where there is no gauge to go back to. */
  readonly back: (() => void) | null
  watch(quantity: Quantity, target: string): void
  startJob(): void
  reopen(job: string): void
  /** About the job that was just closed: that it is, and its record; "" where there is none. */
  readonly closed: string
  /** Switches the supply on for the set of a sheet; null while it is on, or where there is none. */
  readonly supplyOn: ((procedure: string) => void) | null
  /** Who is on this bench. */
  readonly bench: HTMLElement
  /** The settings of this device, at the foot. */
  readonly settings: HTMLElement
}

/** Builds the first screen. */
export function watchForm(welcome: Welcome | null, ends: WatchFormEnds): HTMLElement {
  const form = make('form', 'panel-form')
  const back = ends.back === null ? [] : [button('', FORM.backToGauge, ends.back)]
  form.append(
    make('div', 'row apart', make('h1', '', FORM.watchTitle), ...(welcome === null ? [] : [ends.bench]), ...back),
    make('p', 'lead', FORM.watchLead),
  )
  if (welcome === null) form.append(make('p', 'lead', FORM.waiting))
  else if (welcome.measures.length === 0) form.append(make('p', 'lead', FORM.nothingMeasures))
  else form.append(...watchFields(form, welcome, ends))
  const job = make('div', 'row apart', jobLead(), button('', FORM.startJob, ends.startJob))
  const foot = make('div', 'foot', ...closedLine(ends.closed), ...openJobs(welcome?.openJobs ?? [], ends), job)
  const sheet = welcome?.procedures[0]
  const { supplyOn } = ends
  if (supplyOn !== null && sheet !== undefined)
    foot.append(supplyRow(sheet.title, sheet.watchCautions, () => supplyOn(sheet.file)))
  const place = welcome?.setPage ?? null
  if (place !== null) {
    const link = make('a', '', place)
    link.href = place
    link.target = '_blank'
    foot.append(make('p', 'lead set-page', `${FORM.setPage}: `, link))
  }
  form.append(foot, ends.settings)
  return form
}

/** The first press shows what has to be known, the second one says that the load is on. */
function supplyRow(title: string, cautions: readonly string[], press: () => void): HTMLElement {
  const known = make('ul', 'supply-cautions', ...cautions.map((one) => make('li', '', one)))
  const words = make('div', '', make('h2', '', FORM.supplyTitle), make('p', 'lead', supplyLead(title)))
  const row = make('div', 'row apart', words)
  const ask = button('', FORM.supplyOn, () => {
    ask.replaceWith(button('', FORM.supplyOnWithLoad, press))
    row.before(known)
    row.scrollIntoView({ block: 'end' })
  })
  row.append(ask)
  return row
}

function closedLine(words: string): HTMLElement[] {
  return words === '' ? [] : [make('p', 'closed', words)]
}

/** Jobs whose service ended in the middle. Nothing of them goes on by itself. */
function openJobs(jobs: Welcome['openJobs'], ends: WatchFormEnds): HTMLElement[] {
  if (jobs.length === 0) return []
  const lines = jobs.map((one) => {
    const named = make('p', '', `${FORM.openJob}: `, make('b', '', one.serial || one.job), `, ${one.procedure}`)
    const told = make('div', '', named, make('p', 'lead', openJobWords(one.captured, dayWords(one.startedAt))))
    return make(
      'li',
      'row apart',
      told,
      button('', FORM.reopen, () => ends.reopen(one.job)),
    )
  })
  return [make('ul', 'open-jobs', ...lines)]
}

function jobLead(): HTMLElement {
  return make('div', '', make('h2', '', FORM.jobTitle), make('p', 'lead', FORM.jobLead))
}

function watchFields(form: HTMLFormElement, welcome: Welcome, ends: WatchFormEnds): HTMLElement[] {
  const first = welcome.measures.find(({ quantity }) => quantity === ends.quantity) ?? welcome.measures[0]
  let picked = first
  const field = textField(FORM.target, first?.example ?? '')
  const choices = make('div', 'choices')
  for (const measure of welcome.measures) {
    const words = make('span', '', quantityWords(measure.quantity), make('small', '', measure.instrument))
    const choice = pick('radio', 'quantity', words, measure === first)
    choice.input.addEventListener('change', () => {
      picked = measure
      field.input.placeholder = measure.example
    })
    choices.append(choice.element)
  }
  // what is written into the field is how a target is written, whatever the language
  const quick = (['maximum', 'minimum'] as const).map((target) =>
    button('quiet', FORM[target], () => {
      field.input.value = target
    }),
  )
  const go = make('button', 'go', FORM.watch)
  form.addEventListener('submit', (event) => {
    event.preventDefault()
    const target = field.input.value.trim() || field.input.placeholder
    if (picked !== undefined) ends.watch(picked.quantity, target)
  })
  return [choices, make('div', 'row', field.element, ...quick, go)]
}
