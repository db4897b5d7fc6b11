import type { SettingColumn, SettingListView, SettingRow } from '../view/view-setting-list.ts'
import { SETTING_LIST } from '../words/words-of-forms.ts'
import { make, say, show } from './dom.ts'

/** What was written into a field, passed on when the field is left. */
export interface SettingNote {
  readonly name: string
  readonly column: SettingColumn
  readonly value: string
  readonly reason?: string
}

/** The list of the set's own settings; its fields stay as they are while somebody writes in them. */
export interface SettingList {
  readonly element: HTMLElement
  draw(view: SettingListView): void
}

const COLUMNS: readonly SettingColumn[] = ['found', 'job', 'left']

/** Builds the list. Enter goes to the next field; leaving a field that was changed writes it down. */
export function settingList(note: (wish: SettingNote) => void): SettingList {
  const title = make('h1')
  const guide = make('p', 'lead')
  const list = make('div', 'setting-rows')
  const element = make('section', 'setting-list', title, guide, list)
  let drawn = ''
  let lines: readonly { draw(row: SettingRow): void }[] = []
  element.addEventListener('keydown', (event) => {
    if (event.key !== 'Enter' || !(event.target instanceof HTMLInputElement)) return
    event.preventDefault()
    nextField(element, event.target)
  })
  return {
    element,
    draw(view) {
      say(title, view.title)
      say(guide, view.guide)
      const shape = JSON.stringify([view.writes, view.rows.map(({ name }) => name)])
      if (shape !== drawn) {
        drawn = shape
        const made = view.rows.map((row) => settingLine(row.name, view.writes, note))
        lines = made
        list.replaceChildren(headLine(), ...made.map((line) => line.element))
      }
      for (const [index, row] of view.rows.entries()) lines[index]?.draw(row)
    },
  }
}

function headLine(): HTMLElement {
  const names = [SETTING_LIST.name, ...COLUMNS.map((column) => SETTING_LIST[column])]
  return make('div', 'setting setting-head', ...names.map((text) => make('span', '', text)))
}

function settingLine(name: string, writes: readonly SettingColumn[], note: (wish: SettingNote) => void) {
  const cells = COLUMNS.map((column) =>
    writes.includes(column)
      ? writtenCell(`${name}, ${SETTING_LIST[column]}`, (value) => note({ name, column, value }))
      : plainCell(),
  )
  const [found, job, left] = cells
  let value = ''
  const reason = writtenCell(`${name}, ${SETTING_LIST.reason}`, (text) =>
    note({ name, column: 'left', value, reason: text }),
  )
  const why = make('label', 'setting-reason', make('span', '', SETTING_LIST.reason), reason.element)
  const element = make('div', 'setting', make('b', '', name), ...cells.map((cell) => cell.element), why)
  return {
    element,
    draw(row: SettingRow) {
      value = row.left
      found?.draw(row.found)
      job?.draw(row.job)
      left?.draw(row.left)
      reason.draw(row.reason)
      show(why, row.asksReason && writes.includes('left'))
    },
  }
}

interface Cell {
  readonly element: HTMLElement
  draw(kept: string): void
}

function plainCell(): Cell {
  const element = make('span', 'setting-text')
  return { element, draw: (kept) => say(element, kept === '' ? SETTING_LIST.empty : kept) }
}

/** A field shows what is kept, except while a person has written something else into it. */
function writtenCell(label: string, write: (value: string) => void): Cell {
  const input = make('input')
  input.type = 'text'
  input.autocomplete = 'off'
  input.spellcheck = false
  input.maxLength = 60
  input.setAttribute('aria-label', label)
  let kept = ''
  const mark = () => input.classList.toggle('unkept', input.value.trim() !== kept)
  input.addEventListener('input', mark)
  input.addEventListener('blur', () => {
    const value = input.value.trim()
    if (value !== kept) write(value)
  })
  return {
    element: input,
    draw(now) {
      const untouched = input.value.trim() === kept || input.value.trim() === ''
      if (now !== kept && untouched) {
        input.value = now
        // Whoever stands in the field already writes over what came in meanwhile.
        if (document.activeElement === input) input.select()
      }
      kept = now
      mark()
    },
  }
}

/** The next field that can be seen; after the last one the keys belong to the page again. */
function nextField(element: HTMLElement, from: HTMLInputElement): void {
  const fields = [...element.querySelectorAll('input')].filter((input) => input.offsetParent !== null)
  const next = fields[fields.indexOf(from) + 1]
  if (next === undefined) from.blur()
  else next.focus()
}
