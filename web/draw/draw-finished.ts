import type { FinishedView, PairRow, PairSide, TableRow } from '../view/view-finished.ts'
import { NOTHING_CAPTURED } from '../words/words.ts'
import { TABLE } from '../words/words-of-forms.ts'
import { make } from './dom.ts'
import { fresh } from './draw-sheets.ts'

/** The record, the readings before and after beside each other, every captured value with earlier ones kept and marked, and what was left out. */
export function drawFinished(element: HTMLElement, view: FinishedView): void {
  if (!fresh(element, view)) return
  const record = view.record === '' ? [] : [make('p', 'record', view.record)]
  const tables = [...pairTable(view.pairs), ...allTable(view.table), ...leftOutList(view.leftOut)]
  const none =
    view.pairs.length + view.table.length === 0 ? [make('h1', '', TABLE.title), make('p', '', NOTHING_CAPTURED)] : []
  const scroll = make('div', 'scroll', ...none, ...tables)
  scroll.tabIndex = 0 // the keyboard scrolls it
  element.replaceChildren(...record, scroll)
}

function pairTable(pairs: readonly PairRow[]): HTMLElement[] {
  if (pairs.length === 0) return []
  const heads = [TABLE.row, TABLE.what, TABLE.found, TABLE.left, TABLE.change, TABLE.band]
  return [make('h1', '', TABLE.pairs), tableOf('pairs', heads, pairs.map(pairLine))]
}

function allTable(rows: readonly TableRow[]): HTMLElement[] {
  if (rows.length === 0) return []
  const heads = [TABLE.row, TABLE.what, TABLE.at, TABLE.value, TABLE.band, TABLE.verdict, TABLE.how]
  return [make('h1', '', TABLE.title), tableOf('all', heads, rows.map(lineOf))]
}

function leftOutList(rows: readonly string[]): HTMLElement[] {
  if (rows.length === 0) return []
  return [make('h1', '', TABLE.leftOut), make('ul', '', ...rows.map((row) => make('li', '', row)))]
}

function tableOf(name: string, heads: readonly string[], lines: readonly HTMLElement[]): HTMLElement {
  const head = make('thead', '', make('tr', '', ...heads.map((text) => make('th', '', text))))
  return make('table', name, head, make('tbody', '', ...lines))
}

function pairLine(row: PairRow): HTMLTableRowElement {
  const cells = [row.row, whatOf(row), sideOf(row.found), sideOf(row.left), make('b', '', row.change), row.band]
  return lineWith(cells, row.inside, '')
}

function sideOf(side: PairSide): HTMLElement {
  return make('span', '', make('b', '', side.value), make('small', '', side.told))
}

function lineOf(row: TableRow): HTMLTableRowElement {
  const value = make(row.takenBack === true ? 's' : 'b', '', row.value)
  const cells = [row.row, whatOf(row), row.at, value, row.band, row.verdict, row.label]
  return lineWith(cells, row.inside, row.latest ? '' : 'earlier')
}

function whatOf(row: { readonly title: string; readonly quantity: string }): HTMLElement {
  return make('span', '', row.title, make('small', '', ` ${row.quantity}`))
}

function lineWith(cells: readonly (string | HTMLElement)[], inside: boolean, className: string): HTMLTableRowElement {
  const line = make('tr', className, ...cells.map((cell) => make('td', '', cell)))
  line.dataset.inside = inside ? 'yes' : 'no'
  return line
}
