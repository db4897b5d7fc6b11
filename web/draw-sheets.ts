import { make } from './dom.ts'
import type { SheetView, TableRow } from './view-sheets.ts'
import { NOTHING_CAPTURED, SHEET, TABLE } from './words.ts'

/** Draws only what changed since it was last put there: these screens stand still for minutes. */
function fresh(element: HTMLElement, view: unknown): boolean {
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

/** All captured values, with earlier ones kept and marked. */
export function drawTable(element: HTMLElement, rows: readonly TableRow[]): void {
  if (!fresh(element, rows)) return
  const title = make('h1', '', TABLE.title)
  if (rows.length === 0) {
    element.replaceChildren(title, make('p', '', NOTHING_CAPTURED))
    return
  }
  const heads = [TABLE.row, TABLE.what, TABLE.at, TABLE.value, TABLE.band, TABLE.verdict, TABLE.how]
  const body = make('tbody', '', ...rows.map(lineOf))
  const head = make('thead', '', make('tr', '', ...heads.map((text) => make('th', '', text))))
  element.replaceChildren(title, make('div', 'scroll', make('table', '', head, body)))
}

function lineOf(row: TableRow): HTMLTableRowElement {
  const what = make('td', '', row.title, make('small', '', ` ${row.quantity}`))
  const cells = [row.row, what, row.at, make('b', '', row.value), row.band, row.verdict, row.label]
  const line = make(
    'tr',
    row.latest ? '' : 'earlier',
    ...cells.map((cell) => (cell === what ? what : make('td', '', cell))),
  )
  line.dataset.inside = row.inside ? 'yes' : 'no'
  return line
}
