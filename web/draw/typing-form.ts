import type { Answer } from '../../src/schema/messages/shown.ts'
import { type TypingView, typedText } from '../view/view-typing.ts'
import { yesWords } from '../words/words.ts'
import { TYPING } from '../words/words-of-forms.ts'
import { button, make, mark, say, show } from './dom.ts'

/** The field in the place of the number, where a person reads the meter. */
export interface TypingForm {
  readonly element: HTMLElement
  draw(view: TypingView | null, keyed: boolean): void
  /** The service has taken what was sent, or says in words why not, or asks whether it is meant so. */
  answered(answer: Answer): void
}

/** Builds the field; `send` passes on what was typed, `sure` once the question about the decade was answered with yes. */
export function typingForm(send: (quantity: string, text: string, sure: boolean) => void): TypingForm {
  const name = make('span')
  const input = make('input')
  input.type = 'text'
  input.autocomplete = 'off'
  input.spellcheck = false
  input.maxLength = 40
  input.dataset.stops = 'yes'
  const unit = make('b', 'unit')
  const go = make('button', 'go', TYPING.keep)
  const note = make('p', 'typing-note')
  note.setAttribute('role', 'alert')
  const yes = button('', '', () => sendText(true))
  yes.hidden = true
  const rests = make('span', 'keys-rest', TYPING.keysRest)
  const field = make('label', 'field', make('span', '', name, ' ', rests), input)
  const element = make(
    'form',
    'typing',
    make('div', 'typing-row', field, unit, go),
    make('div', 'typing-row', note, yes),
  )
  let view: TypingView | null = null
  let sent = ''

  const sendText = (sure: boolean) => {
    if (view === null || input.value.trim() === '') return input.focus()
    sent = sure ? sent : typedText(input.value, view.unit)
    send(view.quantity, sent, sure)
  }
  const settle = () => {
    yes.hidden = true
    say(note, view?.like ?? '')
    note.classList.remove('refused')
  }
  element.addEventListener('submit', (event) => {
    event.preventDefault()
    sendText(false)
  })
  input.addEventListener('input', settle)
  // A digit typed anywhere belongs here: hands that come back from the set do not look for the field first.
  document.addEventListener('keydown', (event) => {
    const elsewhere = !(document.activeElement instanceof HTMLInputElement)
    if (view !== null && elsewhere && /^[\d.+-]$/.test(event.key) && !event.ctrlKey && !event.altKey) input.focus()
  })
  return {
    element,
    draw(now, keyed) {
      const begins = now !== null && now.key !== view?.key
      view = now
      show(element, now !== null)
      if (now === null) {
        input.value = ''
        return settle()
      }
      say(name, now.name)
      say(unit, now.unit)
      mark(input, 'inputmode', now.keyboard)
      if (!begins) return
      input.value = ''
      settle()
      // With the key down the keyboard stays with the foot switch.
      if (!keyed && document.activeElement === document.body) input.focus({ preventScroll: true })
    },
    answered({ ok, words, asksBack }) {
      settle()
      if (view === null) return
      if (ok) {
        input.value = ''
        return
      }
      say(note, words)
      note.classList.add('refused')
      say(yes, yesWords(sent))
      yes.hidden = asksBack !== true
    },
  }
}
