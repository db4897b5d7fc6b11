import { make, makeSvg } from './dom.ts'
import { drawCautions } from './draw-cautions.ts'
import { hookUpDrawing } from './hook-up-shapes.ts'
import { putDrawing } from './shape.ts'
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
  for (const { what, value } of sheet.rows) {
    const cut = sheet.hookUp?.cut.includes(what) === true ? 'cut' : ''
    const drawn = sheet.hookUp?.said.includes(what) === true ? 'drawn' : cut
    rows.append(make('div', drawn, make('dt', '', what), make('dd', '', value)))
  }
  const cautions = drawCautions(sheet.cautions, sheet.cautionsSeen)
  element.replaceChildren(
    make('div', 'sheet-half', left),
    make('div', 'sheet-right', make('div', 'sheet-places', ...hookUpPart(sheet), rows)),
    ...cautions,
  )
}

/** The same places as a drawing, above the rows; on a small screen the rows alone are there. */
function hookUpPart({ hookUp }: SheetView): readonly SVGSVGElement[] {
  if (hookUp === null) return []
  const svg = makeSvg('svg', { class: 'drawing hook-up' })
  putDrawing(svg, hookUpDrawing(hookUp))
  return [svg]
}
