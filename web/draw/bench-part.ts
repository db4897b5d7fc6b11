import type { PlaceOnBench } from '../../src/schema/messages/shown.ts'
import { benchDrawing, benchSummary } from './bench-drawing.ts'
import { make, makeSvg, say } from './dom.ts'
import { fresh } from './draw-sheets.ts'
import { putDrawing } from './shape.ts'

/** The bench on the first screen: one line about it, and behind a touch its drawing. */
export interface BenchPart {
  readonly element: HTMLElement
  draw(name: string, places: readonly PlaceOnBench[]): void
}

/** Built once: what the person has opened stays open, whatever is built anew round it. Closed, nothing of it is drawn. */
export function benchPart(): BenchPart {
  const name = make('b')
  const state = make('span')
  const picture = make('div', 'bench-picture')
  const element = make('details', 'fold bench-part', make('summary', '', name, state), picture)
  let shown: readonly PlaceOnBench[] = []
  const drawPicture = () => {
    if (!element.open) return picture.replaceChildren()
    const svg = makeSvg('svg', { class: 'drawing bench-drawing' })
    putDrawing(svg, benchDrawing(shown))
    picture.replaceChildren(svg)
  }
  element.addEventListener('toggle', drawPicture)
  return {
    element,
    draw(bench, places) {
      if (!fresh(element, [bench, places])) return
      shown = places
      say(name, bench)
      say(state, benchSummary(places))
      element.dataset.lacks = places.some((one) => one.needed && one.link !== 'up' && one.link !== 'typed')
        ? 'yes'
        : 'no'
      drawPicture()
    },
  }
}
