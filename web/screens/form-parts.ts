import { make } from '../draw/dom.ts'
import { FORM } from '../words/words-of-forms.ts'

/** A line of text with its name above it; the foot switch rests while it has the cursor, and it says so. */
export function textField(name: string, placeholder: string, most = 80) {
  const input = make('input')
  input.type = 'text'
  input.placeholder = placeholder
  input.autocomplete = 'off'
  input.spellcheck = false
  input.maxLength = most
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
