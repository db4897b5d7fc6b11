import type { Captured, Pass, StepLine } from '../../src/schema/messages/shown.ts'
import { button, make } from '../draw/dom.ts'
import { joined } from '../words/text.ts'
import { doneWords, LABEL, PASS, STEP_STATE } from '../words/words.ts'
import { STEPS } from '../words/words-of-forms.ts'
import { TAKE_BACK } from '../words/words-of-hands.ts'
import { textField } from './form-parts.ts'

export interface StepsEnds {
  /** Null where the job cannot be closed now. */
  readonly closeJob: (() => void) | null
  open(step: string): void
  leaveOut(step: string, reason: string): void
  back(): void
  /** Moments that were marked, to be explained. */
  readonly marks: HTMLElement
  readonly settings: HTMLElement
  /** The last minutes of the step that is open. */
  readonly trace: HTMLElement
}

const PASSES: readonly Pass[] = ['found', 'work', 'left']

/** The quiet list of a job in its passes: each step, where it stands, and the two things that can be done with it. */
export function stepsPanel(steps: readonly StepLine[], captured: readonly Captured[], ends: StepsEnds): HTMLElement {
  const passes = PASSES.filter((pass) => steps.some((step) => step.pass === pass))
  const lists = passes.map((pass) => {
    const inPass = steps.filter((step) => step.pass === pass)
    const list = make('ol', 'steps', ...inPass.map((step) => stepLine(step, captured, ends)))
    return make('section', 'pass', ...(passes.length > 1 ? [passHead(pass, inPass)] : []), list)
  })
  const head = make('div', 'row apart', make('h1', '', STEPS.title), button('', STEPS.back, ends.back))
  const close = ends.closeJob === null ? [] : [make('div', 'row', button('quiet', STEPS.closeJob, ends.closeJob))]
  const marked = ends.marks.querySelector('li') === null ? [...lists, ends.marks] : [ends.marks, ...lists]
  return make('div', 'panel-form', head, ends.trace, ...marked, ...close, ends.settings)
}

function passHead(pass: Pass, steps: readonly StepLine[]): HTMLElement {
  const wanted = steps.filter(({ state }) => state !== 'left out')
  const done = wanted.filter(({ state }) => state === 'done' || state === 'out of band')
  return make('h2', '', PASS[pass], make('small', '', doneWords(done.length, wanted.length)))
}

function valuesOf(line: StepLine, captured: readonly Captured[]): readonly Captured[] {
  return captured.filter((one) => one.pass === line.pass && one.step === line.step)
}

function stepLine(step: StepLine, captured: readonly Captured[], ends: StepsEnds): HTMLElement {
  const values = valuesOf(step, captured)
  const typed = values.some((one) => one.latest && one.label === 'typed')
  const line = make('li')
  line.dataset.state = step.state
  const again = step.state === 'to do' ? STEPS.open : STEPS.openAgain
  const open = button('quiet', again, () => ends.open(step.id))
  const leave = button('quiet', STEPS.leaveOut, () => askReason(line, step, ends))
  open.hidden = step.state === 'open'
  leave.hidden = step.state === 'left out' || step.state === 'done'
  const result = joined('joined.comma', [step.result, step.result !== '' && typed ? LABEL.typed : ''])
  const words = make(
    'span',
    '',
    step.title,
    make('span', 'result', result === '' ? '' : `  ${result}`),
    ...values.filter((one) => one.takenBack === true).map(takenBack),
  )
  line.append(
    make('span', 'row-name', step.row),
    words,
    make('span', 'where-it-stands', STEP_STATE[step.state]),
    open,
    leave,
  )
  return line
}

/** It stays to be seen, and counts for nothing. */
function takenBack({ digits, unit }: Captured): HTMLElement {
  return make('span', 'taken-back', make('s', '', `${digits.replace('-', '−')} ${unit}`), ` ${TAKE_BACK.taken}`)
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
