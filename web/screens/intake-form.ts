import type { Intake } from '../../src/schema/kept/intake.ts'
import { make } from '../draw/dom.ts'
import { INTAKE } from '../words/words-of-forms.ts'
import { pick, textField } from './form-parts.ts'

/**
 * What has to be known of a set before it is switched on: two earth questions for the ohmmeter, and who was at it before. On a real
 * bench nothing is answered beforehand; `taken` is null, with the question on the screen, until both are.
 */
export function intakeFields(simulated: boolean): { readonly element: HTMLElement; taken(): Intake | null } {
  const chassis = question('chassis', INTAKE.chassis, INTAKE.chassisAnswers, simulated)
  const speaker = question('speaker', INTAKE.speaker, INTAKE.speakerAnswers, simulated)
  const tampered = textField(INTAKE.tampered, '', 500)
  const refused = make('p', 'refused')
  refused.setAttribute('role', 'alert')
  const element = make('fieldset', 'job-part', make('legend', '', INTAKE.title))
  element.append(chassis.element, speaker.element, tampered.element, refused)
  return {
    element,
    taken() {
      const answers = { chassis: chassis.taken(), speaker: speaker.taken() }
      refused.textContent = answers.chassis === null || answers.speaker === null ? INTAKE.missing : ''
      if (answers.chassis === null || answers.speaker === null) {
        element.scrollIntoView({ block: 'center' })
        return null
      }
      return { chassis: answers.chassis, speaker: answers.speaker, tampered: tampered.input.value.trim() }
    },
  }
}

function question<Answer extends string>(
  name: string,
  asks: string,
  answers: readonly { readonly is: Answer; readonly words: string; readonly means: string }[],
  simulated: boolean,
) {
  let picked: Answer | null = simulated ? (answers.at(-1)?.is ?? null) : null
  const choices = make('div', 'choices')
  for (const { is, words, means } of answers) {
    const choice = pick('radio', name, make('span', '', words, make('small', '', means)), is === picked)
    choice.input.addEventListener('change', () => {
      picked = is
    })
    choices.append(choice.element)
  }
  return { element: make('fieldset', '', make('legend', '', asks), choices), taken: () => picked }
}
