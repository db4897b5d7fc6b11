import type { Quantity } from '../src/quantity/quantity.ts'
import type { StepLine, ToPage } from '../src/schema/live-frame.ts'
import { button, make } from './dom.ts'
import { FORM, QUANTITY_WORDS, STEP_STATE, STEPS } from './words.ts'

export type Welcome = Extract<ToPage, { kind: 'welcome' }>

/** The first screen: pick a reading, say what it should be, turn. */
export interface WatchFormEnds {
  /** What is watched now, to begin with. */
  readonly quantity: Quantity | null
  /** Null where there is no gauge to go back to. */
  readonly back: (() => void) | null
  watch(quantity: Quantity, target: string): void
  startJob(): void
  /** Switches the supply on for the set of a sheet; null while it is on, or where there is none. */
  readonly supplyOn: ((procedure: string) => void) | null
  /** The settings of this device, at the foot. */
  readonly settings: HTMLElement
}

export function watchForm(welcome: Welcome | null, ends: WatchFormEnds): HTMLElement {
  const form = make('form', 'panel-form')
  const back = ends.back === null ? [] : [button('', FORM.backToGauge, ends.back)]
  form.append(make('div', 'row apart', make('h1', '', FORM.watchTitle), ...back), make('p', 'lead', FORM.watchLead))
  if (welcome === null) form.append(make('p', 'lead', FORM.waiting))
  else if (welcome.measures.length === 0) form.append(make('p', 'lead', FORM.nothingMeasures))
  else form.append(...watchFields(form, welcome, ends))
  const job = make('div', 'row apart', jobLead(), button('', FORM.startJob, ends.startJob))
  const foot = make('div', 'foot', job)
  const sheet = welcome?.procedures[0]
  const { supplyOn } = ends
  if (supplyOn !== null && sheet !== undefined) foot.append(supplyRow(sheet.title, () => supplyOn(sheet.file)))
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

function supplyRow(title: string, press: () => void): HTMLElement {
  const words = make('div', '', make('h2', '', FORM.supplyTitle), make('p', 'lead', `${FORM.supplyLead} ${title}`))
  return make('div', 'row apart', words, button('', FORM.supplyOn, press))
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
    const words = make('span', '', QUANTITY_WORDS[measure.quantity], make('small', '', measure.instrument))
    const choice = pick('radio', 'quantity', words, measure === first)
    choice.input.addEventListener('change', () => {
      picked = measure
      field.input.placeholder = measure.example
    })
    choices.append(choice.element)
  }
  const quick = [FORM.maximum, FORM.minimum].map((text) =>
    button('quiet', text, () => {
      field.input.value = text
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

export interface JobFormEnds {
  begin(procedure: string, serial: string, bands: readonly string[]): void
  back(): void
}

/** Which sheet, which set, which bands. */
export function jobForm(welcome: Welcome | null, ends: JobFormEnds): HTMLElement {
  const form = make('form', 'panel-form')
  form.append(make('h1', '', FORM.startJob), make('p', 'lead', FORM.jobLead))
  const first = welcome?.procedures[0]
  const back = button('', FORM.back, ends.back)
  if (welcome === null || first === undefined) {
    form.append(make('p', 'lead', FORM.noProcedures), make('div', 'row', back))
    return form
  }
  let picked = first
  const sheets = make('div', 'choices')
  const bands = make('div', 'choices')
  const bandBox = make('div', '', make('p', 'lead', FORM.bands), bands)
  const showBands = () => {
    const usable = picked.bands.filter((band) => band.use !== 'no')
    bandBox.hidden = usable.length === 0
    bands.replaceChildren(...usable.map((band) => bandChoice(band)))
  }
  for (const procedure of welcome.procedures) {
    const choice = pick('radio', 'procedure', make('span', '', procedure.title), procedure === first)
    choice.input.addEventListener('change', () => {
      picked = procedure
      showBands()
    })
    sheets.append(choice.element)
  }
  showBands()
  const simulated = welcome.bench.simulated
  const serial = textField(simulated ? FORM.serialSimulated : FORM.serial, '')
  const refused = make('p', 'refused')
  form.addEventListener('submit', (event) => {
    event.preventDefault()
    const text = serial.input.value.trim()
    if (text === '' && !simulated) {
      refused.textContent = FORM.serialMissing
      return
    }
    const chosen = [...bands.querySelectorAll('input')].filter((input) => input.checked).map((input) => input.value)
    ends.begin(picked.file, text, chosen)
  })
  const go = make('button', 'go', FORM.begin)
  form.append(sheets, bandBox, make('div', 'row', serial.element, back, go), refused)
  return form
}

function bandChoice(band: Welcome['procedures'][number]['bands'][number]): HTMLElement {
  const words = make('span', '', band.words)
  if (band.use === 'ask') words.append(make('small', '', FORM.bandAsk))
  const choice = pick('checkbox', 'band', words, band.use === 'yes')
  choice.input.value = band.id
  return choice.element
}

export interface StepsEnds {
  /** Null where the job cannot be closed now. */
  readonly closeJob: (() => void) | null
  open(step: string): void
  leaveOut(step: string, reason: string): void
  back(): void
  readonly settings: HTMLElement
}

/** The quiet list of a job: each step, where it stands, and the two things that can be done with it. */
export function stepsPanel(steps: readonly StepLine[], ends: StepsEnds): HTMLElement {
  const list = make('ol', 'steps', ...steps.map((step) => stepLine(step, ends)))
  const head = make('div', 'row apart', make('h1', '', STEPS.title), button('', STEPS.back, ends.back))
  const close = ends.closeJob === null ? [] : [make('div', 'row', button('quiet', STEPS.closeJob, ends.closeJob))]
  return make('div', 'panel-form', head, list, ...close, ends.settings)
}

function stepLine(step: StepLine, ends: StepsEnds): HTMLElement {
  const line = make('li')
  line.dataset.state = step.state
  const again = step.state === 'to do' ? STEPS.open : STEPS.openAgain
  const open = button('quiet', again, () => ends.open(step.id))
  const leave = button('quiet', STEPS.leaveOut, () => askReason(line, step, ends))
  open.hidden = step.state === 'open'
  leave.hidden = step.state === 'left out' || step.state === 'done'
  const words = make('span', '', step.title, make('span', 'result', step.result === '' ? '' : `  ${step.result}`))
  line.append(
    make('span', 'row-name', step.row),
    words,
    make('span', 'where-it-stands', STEP_STATE[step.state]),
    open,
    leave,
  )
  return line
}

/** Leaving out wants a reason: the record shows it. */
function askReason(line: HTMLElement, step: StepLine, ends: StepsEnds): void {
  if (line.querySelector('.leave') !== null) return
  const field = textField(STEPS.reason, '')
  const refused = make('p', 'refused')
  const form = make('form', 'leave')
  const keep = button('quiet', STEPS.keep, () => form.remove())
  form.append(make('div', 'row', field.element, keep, make('button', '', STEPS.leaveOut)), refused)
  form.addEventListener('submit', (event) => {
    event.preventDefault()
    const reason = field.input.value.trim()
    if (reason.length < 3) {
      refused.textContent = STEPS.reasonShort
      return
    }
    ends.leaveOut(step.id, reason)
  })
  line.append(form)
  field.input.focus()
}

/** A line of text with its name above it; the foot switch rests while it has the cursor, and it says so. */
function textField(name: string, placeholder: string) {
  const input = make('input')
  input.type = 'text'
  input.placeholder = placeholder
  input.autocomplete = 'off'
  input.spellcheck = false
  input.maxLength = 80
  const note = make('span', 'keys-rest', FORM.keysRest)
  return { element: make('label', 'field', name, input, note), input }
}

/** A choice as big as a button; which one is taken shows as a bar under it, not by colour. */
export function pick(type: 'radio' | 'checkbox', name: string, words: HTMLElement, checked: boolean) {
  const input = make('input')
  input.type = type
  input.name = name
  input.checked = checked
  return { element: make('label', 'choice', input, words), input }
}
