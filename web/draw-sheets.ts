import { make } from './dom.ts'
import type { SheetView } from './view-sheets.ts'
import { SHEET } from './words.ts'

/** Draws only what changed since it was last put there: these screens stand still for minutes. */
export function fresh(element: HTMLElement, view: unknown): boolean {
  const text = JSON.stringify(view)
  if (element.dataset.drawn === text) return false
  element.dataset.drawn = text
  return true
}

/** A step to be read: what is turned, huge; what it should become; where the hands and the leads go. */
export function drawSheet(element: HTMLElement, sheet: SheetView): void {
  if (!fresh(element, sheet)) return
  const named = sheet.label !== ''
  const label = make('h1', named ? 'sheet-label' : 'sheet-label long', named ? sheet.label : sheet.title)
  label.dataset.long = label.textContent.length > 5 ? 'yes' : 'no'
  const left = make('div', 'sheet-left', label)
  if (named) left.append(make('p', 'sheet-where', sheet.where))
  if (named) left.append(make('p', 'sheet-title', sheet.title))
  const target = make(
    'p',
    'sheet-target',
    make('span', '', sheet.technique),
    ...sheet.target.map((line, index) => make(index === 0 ? 'b' : 'i', '', line)),
  )
  target.title = SHEET.target
  left.append(target)
  if (sheet.guide !== '') left.append(make('p', 'sheet-guide', sheet.guide))
  const rows = make('dl', 'sheet-rows')
  for (const { what, value } of sheet.rows) rows.append(make('dt', '', what), make('dd', '', value))
  const cautions = make('ul', 'cautions', ...sheet.cautions.map((words) => make('li', '', words)))
  element.replaceChildren(make('div', 'sheet-half', left), make('div', 'sheet-right', rows), cautions)
}
