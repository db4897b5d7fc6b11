import type { HookUp } from '../view/hook-up.ts'
import type { SheetView } from '../view/view-sheets.ts'
import { SHEET, SHEET_ROW } from '../words/words.ts'
import { button, make, makeSvg } from './dom.ts'
import { drawCautions, WHOLE } from './draw-cautions.ts'
import { hookUpDrawing } from './hook-up-shapes.ts'
import { putDrawing } from './shape.ts'

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
  label.style.setProperty('--letters', String(label.textContent.length))
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
  rows.style.setProperty('--lines', String(sheet.rows.length))
  for (const { what, value } of sheet.rows) {
    const cut = sheet.hookUp?.cut.includes(what) === true ? 'cut' : ''
    const drawn = sheet.hookUp?.said.includes(what) === true ? 'drawn' : cut
    rows.append(make('div', drawn, make('dt', '', SHEET_ROW[what]), make('dd', '', value)))
  }
  const cautions = drawCautions(sheet.cautions, sheet.cautionsSeen)
  element.replaceChildren(
    make('div', 'sheet-half', left),
    make('div', 'sheet-right', places(element, sheet.hookUp, rows)),
    ...cautions,
  )
}

/** Where everything goes, drawn above the rows; where there is no room for the drawing it lies behind a door on the words. */
function places(sheet: HTMLElement, hookUp: HookUp | null, rows: HTMLElement): HTMLElement {
  if (hookUp === null) return make('div', 'sheet-places', rows)
  const door = button('hook-up-door', '', () => openWhole(sheet, hookUp, door))
  door.append(make('span', '', SHEET.drawing))
  return make('div', 'sheet-places', drawn(hookUp, 'drawing hook-up'), rows, door)
}

function openWhole(sheet: HTMLElement, hookUp: HookUp, door: HTMLElement): void {
  const whole = make('div', WHOLE, drawn(hookUp, 'drawing'))
  const back = button('', SHEET.words, () => {})
  whole.append(back)
  whole.addEventListener('click', () => {
    whole.remove()
    door.focus({ preventScroll: true })
  })
  sheet.append(whole)
  back.focus({ preventScroll: true })
}

function drawn(hookUp: HookUp, className: string): SVGSVGElement {
  const svg = makeSvg('svg', { class: className })
  putDrawing(svg, hookUpDrawing(hookUp))
  return svg
}
