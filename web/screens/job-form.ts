import type { Intake } from '../../src/schema/kept/intake.ts'
import { button, make } from '../draw/dom.ts'
import { serialDifference } from '../view/serial.ts'
import { FORM } from '../words/words-of-forms.ts'
import { pick, textField } from './form-parts.ts'
import { intakeFields } from './intake-form.ts'
import type { Welcome } from './watch-form.ts'

/** What a person chose for a job. */
export interface JobChoice {
  readonly procedure: string
  readonly serial: string
  readonly bands: string[]
  /** File of the rule card; undefined where none was chosen. */
  readonly rules: string | undefined
  readonly complaint: string
  readonly intake: Intake
  /** A closed job of the same set whose as-found readings stand; "" for none. */
  readonly continues: string
}

export interface JobFormEnds {
  begin(choice: JobChoice): void
  back(): void
}

/** Which sheet, which set, which bands, what is allowed, and why the set came. */
export function jobForm(welcome: Welcome | null, ends: JobFormEnds): HTMLElement {
  const form = make('form', 'panel-form')
  form.append(make('h1', '', FORM.startJob))
  const back = button('', FORM.back, ends.back)
  const sheet = welcome === null ? null : sheetChoice(welcome.procedures)
  if (welcome === null || sheet === null) {
    form.append(make('p', 'lead', FORM.noProcedures), ...wrongFiles(welcome), make('div', 'row', back))
    return form
  }
  const rules = ruleChoice(welcome.ruleCards)
  const earlier = earlierJobs(welcome.closedJobs)
  const serial = serialFields(welcome.bench.simulated, earlier.show)
  const intake = intakeFields(welcome.bench.simulated)
  const complaint = textField(FORM.complaint, '', 500)
  form.addEventListener('submit', (event) => {
    event.preventDefault()
    const taken = serial.taken()
    if (taken === null) return
    const found = intake.taken()
    if (found === null) return
    ends.begin({
      ...sheet.taken(),
      serial: taken,
      rules: rules.taken(),
      intake: found,
      complaint: complaint.input.value.trim(),
      continues: earlier.taken(),
    })
  })
  const go = make('button', 'go', FORM.begin)
  form.append(
    serial.element,
    earlier.element,
    sheet.element,
    rules.element,
    ...wrongFiles(welcome),
    intake.element,
    make('div', 'row', complaint.element),
    make('div', 'row stays', back, go, serial.refused),
  )
  return form
}

/** What stands in the folders and is not offered: the file, and what is wrong in it. */
function wrongFiles(welcome: Welcome | null): readonly HTMLElement[] {
  return (welcome?.wrongFiles ?? []).map(({ words }) =>
    make('div', 'wrong-file', make('p', '', FORM.wrongFile), ...words.slice(0, 5).map((line) => make('p', '', line))),
  )
}

/** The sheet, what has to be known of the supply for it, and of its bands those that are in use. Null where there is no sheet. */
function sheetChoice(procedures: Welcome['procedures']) {
  const [first] = procedures
  if (first === undefined) return null
  let picked = first
  const cautions = make('div', 'supply-cautions')
  const bands = make('div', 'choices')
  const bandBox = make('fieldset', '', make('legend', '', FORM.bands), bands)
  const show = () => {
    const usable = picked.bands.filter((band) => band.use !== 'no')
    bandBox.hidden = usable.length === 0
    bands.replaceChildren(...usable.map((band) => bandChoice(band)))
    cautions.hidden = picked.supplyCautions.length === 0
    cautions.replaceChildren(...picked.supplyCautions.map((words) => make('p', '', words)))
  }
  const sheets = make('div', 'choices')
  for (const procedure of procedures) {
    const choice = pick('radio', 'procedure', make('span', '', procedure.title), procedure === first)
    choice.input.addEventListener('change', () => {
      picked = procedure
      show()
    })
    sheets.append(choice.element)
  }
  show()
  const element = make(
    'div',
    'job-part',
    make('fieldset', '', make('legend', '', FORM.procedure), sheets),
    cautions,
    bandBox,
  )
  const taken = () => {
    const inputs = [...bands.querySelectorAll('input')]
    return { procedure: picked.file, bands: inputs.filter((input) => input.checked).map((input) => input.value) }
  }
  return { element, taken }
}

function bandChoice(band: Welcome['procedures'][number]['bands'][number]): HTMLElement {
  const words = make('span', '', band.words)
  if (band.use === 'ask') words.append(make('small', '', FORM.bandAsk))
  const choice = pick('checkbox', 'band', words, band.use === 'yes')
  choice.input.value = band.id
  return choice.element
}

/** No card is a choice like the others, and the one that is taken unless somebody takes another. */
function ruleChoice(cards: Welcome['ruleCards']) {
  let picked: string | undefined
  const choices = make('div', 'choices')
  const all = [{ file: undefined, title: FORM.noRules, allows: FORM.noRulesAllows }, ...cards]
  for (const { file, title, allows } of all) {
    const choice = pick('radio', 'rules', make('span', '', title, make('small', '', allows)), file === undefined)
    choice.input.addEventListener('change', () => {
      picked = file
    })
    choices.append(choice.element)
  }
  return { element: make('fieldset', '', make('legend', '', FORM.rules), choices), taken: () => picked }
}

/** Closed jobs of the serial that is written, shown once it is written twice: as found is read anew unless somebody takes one of them. */
function earlierJobs(closed: Welcome['closedJobs']) {
  let picked = ''
  const choices = make('div', 'choices')
  const element = make('fieldset', '', make('legend', '', FORM.found), choices)
  element.hidden = true
  const show = (serial: string) => {
    const same = serial === '' ? [] : closed.filter((one) => one.serial === serial)
    picked = ''
    element.hidden = same.length === 0
    const all = [
      { job: '', title: FORM.foundAnew, from: '' },
      ...same.map(({ job, procedure, closedAt }) => ({
        job,
        title: FORM.foundStands,
        from: `${procedure}, ${closedAt.slice(0, 10)}`,
      })),
    ]
    choices.replaceChildren(
      ...all.map(({ job, title, from }) => {
        const choice = pick('radio', 'found', make('span', '', title, make('small', '', from)), job === '')
        choice.input.addEventListener('change', () => {
          picked = job
        })
        return choice.element
      }),
    )
  }
  return { element, show, taken: () => picked }
}

/** The serial twice: a record of the wrong set helps nobody. */
function serialFields(simulated: boolean, known: (serial: string) => void) {
  const first = textField(simulated ? FORM.serialSimulated : FORM.serial, '', 40)
  const second = textField(FORM.serialAgain, '', 40)
  const refused = make('p', 'refused')
  refused.setAttribute('role', 'alert')
  const both = () => [first.input.value.trim(), second.input.value.trim()] as const
  const compare = () => {
    const [one, other] = both()
    refused.textContent = one === '' || other === '' ? '' : serialDifference(one, other)
  }
  // while it is typed, so that nothing moves under the finger that goes for Begin
  const follow = () => {
    const [one, other] = both()
    if (one === other) refused.textContent = ''
    known(one === other ? one : '')
  }
  for (const { input } of [first, second]) {
    input.addEventListener('input', follow)
    input.addEventListener('change', compare)
  }
  const taken = (): string | null => {
    const [one, other] = both()
    if (one === '' && other === '' && simulated) return ''
    const missing = one === '' ? FORM.serialMissing : other === '' ? FORM.serialAgainMissing : ''
    refused.textContent = missing || serialDifference(one, other)
    return refused.textContent === '' ? one : null
  }
  return { element: make('div', 'row', first.element, second.element), refused, taken }
}
