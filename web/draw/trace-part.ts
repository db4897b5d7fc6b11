import { type HistoryView, historyWords } from '../view/history.ts'
import { HISTORY } from '../words/words-of-drawings.ts'
import { make, say } from './dom.ts'
import type { Trace } from './trace.ts'

/** The last minutes in the list of steps: in words always, behind a touch as a trace. */
export interface TracePart {
  readonly element: HTMLElement
  /** At any rate; drawn anew at most twice a second. `nowMs`: the service's clock. */
  draw(view: () => HistoryView | null, nowMs: number): void
}

const AGAIN_MS = 500

/** Built once, so that what is opened stays open; the chart and its library are fetched when it is opened first. */
export function tracePart(changed: () => void): TracePart {
  const told = make('span', 'trace-told')
  const note = make('p', 'lead', HISTORY.loading)
  const sheet = make('div', 'trace-sheet', note)
  sheet.setAttribute('role', 'img')
  const element = make('details', 'fold trace-part', make('summary', '', make('b', '', HISTORY.title), told), sheet)
  let trace: Trace | 'coming' | null = null
  let drawnMs = Number.NEGATIVE_INFINITY
  element.addEventListener('toggle', () => {
    drawnMs = Number.NEGATIVE_INFINITY
    changed()
    if (!element.open || trace !== null) return
    trace = 'coming'
    import('./trace.ts').then(
      ({ openTrace }) => {
        note.remove()
        trace = openTrace(sheet)
        drawnMs = Number.NEGATIVE_INFINITY
        changed()
      },
      () => {
        trace = null
        say(note, HISTORY.failed)
      },
    )
  })
  return {
    element,
    draw(viewOf, nowMs) {
      if (nowMs >= drawnMs && nowMs - drawnMs < AGAIN_MS) return
      drawnMs = nowMs
      const view = viewOf()
      const words = historyWords(view)
      say(told, words)
      sheet.setAttribute('aria-label', words)
      if (element.open && view !== null && trace !== null && trace !== 'coming') trace.draw(view)
    },
  }
}
