import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { benchPart } from '../draw/bench-part.ts'
import { button, make } from '../draw/dom.ts'
import { tracePart } from '../draw/trace-part.ts'
import type { HistoryView } from '../view/history.ts'
import { recordOf } from '../view/view-finished.ts'
import type { Wish } from '../wire/live.ts'
import { joined } from '../words/text.ts'
import { closedWords, OPEN_DEVICE } from '../words/words.ts'
import { FORM } from '../words/words-of-forms.ts'
import { jobForm } from './job-form.ts'
import { marksList } from './marks-list.ts'
import { stepsPanel } from './steps-panel.ts'
import { type Welcome, watchForm } from './watch-form.ts'

/** What may lie over the gauge. `auto`: the first screen while nothing is watched, else nothing. */
export type Panel = 'auto' | 'watch' | 'job' | 'steps' | 'pedals' | 'size' | 'device'

/** Facts that decide what lies over the gauge. */
export interface PanelFacts {
  readonly frame: LiveFrame | null
  readonly welcome: Welcome | null
  readonly steers: boolean
  /** The service's clock. */
  readonly nowMs: number
  /** The view has nothing of its own to show. */
  readonly idle: boolean
}

export interface Panels {
  open(panel: Panel): void
  /** Puts what belongs over the gauge there; a form in which somebody writes is left alone. */
  paint(facts: PanelFacts): void
  readonly covers: boolean
}

export interface PanelEnds {
  ask(wish: Wish): void
  /** Builds the settings of this device. */
  settings(): HTMLElement
  /** Builds the screen on which the foot switch is learned. */
  pedals(back: () => void): HTMLElement
  /** Builds the screen on which the page is fitted to this device. */
  size(back: () => void): HTMLElement
  changed(): void
  /** The last minutes of the step that is open. */
  history(nowMs: number): HistoryView | null
}

/** The forms and lists of the page, over the gauge. */
export function openPanels(element: HTMLElement, ends: PanelEnds): Panels {
  let panel: Panel = 'auto'
  let shown = 'nothing yet'
  let known: PanelFacts | null = null
  const bench = benchPart()
  const trace = tracePart(ends.changed)
  const marks = marksList({
    explain: (mark, words) => ends.ask({ kind: 'explain', mark, words }),
    mark: () => ends.ask({ kind: 'mark' }),
  })
  const open = (to: Panel) => {
    panel = to
    ends.changed()
  }
  const content = (wanted: Panel, facts: PanelFacts): HTMLElement => {
    switch (wanted) {
      case 'job':
        return jobForm(facts.welcome, {
          begin: ({ rules, complaint, continues, ...choice }) =>
            ends.ask({
              kind: 'start job',
              ...choice,
              ...(rules === undefined ? {} : { rules }),
              ...(complaint === '' ? {} : { complaint }),
              ...(continues === '' ? {} : { continues }),
            }),
          back: () => open('auto'),
        })
      case 'steps':
        return stepsPanel(facts.frame?.steps ?? [], facts.frame?.captured ?? [], {
          open: (step) => ends.ask({ kind: 'open step', step }),
          leaveOut: (step, reason) => ends.ask({ kind: 'leave out', step, reason }),
          back: () => open('auto'),
          closeJob: facts.frame?.offers.includes('close job') === true ? () => ends.ask({ kind: 'close job' }) : null,
          marks: marks.element,
          trace: trace.element,
          settings: ends.settings(),
        })
      case 'device':
        return devicePanel(() => open('auto'), ends.settings())
      case 'pedals':
        return ends.pedals(() => open('auto'))
      case 'size':
        return ends.size(() => open('auto'))
      default:
        return watchForm(facts.welcome, {
          quantity: facts.frame?.reading?.quantity ?? null,
          back: facts.idle ? null : () => open('auto'),
          watch: (quantity, target) => ends.ask({ kind: 'watch', quantity, target }),
          startJob: () => open('job'),
          reopen: (job) => ends.ask({ kind: 'reopen job', job }),
          closed: facts.frame === null ? '' : closedLine(facts.frame),
          supplyOn:
            facts.frame?.offers.includes('supply on') === true
              ? (procedure) => ends.ask({ kind: 'supply on', procedure })
              : null,
          settings: ends.settings(),
          bench: bench.element,
        })
    }
  }
  return {
    open,
    paint(facts) {
      known = facts
      const wanted = wantedPanel(panel, facts)
      if (wanted === 'steps') trace.draw(() => ends.history(facts.nowMs), facts.nowMs)
      if (wanted === 'watch' && facts.welcome !== null) bench.draw(facts.welcome.bench.name, facts.welcome.places)
      marks.draw(facts.frame?.marks ?? [], facts.frame?.mode === 'job')
      const key = `${wanted} ${contentKey(wanted, facts)}`
      if (key === shown) return
      const writes = element.contains(document.activeElement) && document.activeElement instanceof HTMLInputElement
      const before = shown.split(' ')[0]
      if (writes && key.split(' ')[0] === before) return
      shown = key
      element.replaceChildren(...(wanted === 'none' ? [] : [content(wanted, facts)]))
      element.scrollTop = 0
      if (key.split(' ')[0] !== before) element.querySelector('[data-state=open]')?.scrollIntoView({ block: 'center' })
      document.body.dataset.panel = wanted
      const first = element.querySelector('[data-first=yes]')
      if (first instanceof HTMLElement) first.focus({ preventScroll: true })
    },
    // a foot that comes between the click and the picture finds the list already: what was asked for counts
    get covers() {
      return known === null || wantedPanel(panel, known) !== 'none'
    },
  }
}

/** Sound, ground and size of a screen that only watches. */
function devicePanel(back: () => void, settings: HTMLElement): HTMLElement {
  const head = make('div', 'row apart', make('h1', '', OPEN_DEVICE), button('', FORM.backToGauge, back))
  return make('div', 'panel-form', head, settings)
}

/** The job that was just closed, and its record. */
function closedLine(frame: LiveFrame): string {
  if (frame.mode === 'job' || frame.job === null) return ''
  return joined('joined.sentences', [closedWords(frame.job.serial), recordOf(frame)])
}

/** What a page that only watches may have over its gauge: what is about its own screen. */
const FOR_WATCHING: readonly Panel[] = ['device', 'size']

function wantedPanel(panel: Panel, facts: PanelFacts): Panel | 'none' {
  if (facts.frame !== null && !facts.steers) return FOR_WATCHING.includes(panel) ? panel : 'none'
  if (panel !== 'auto') return panel
  return facts.idle ? 'watch' : 'none'
}

function takenBackIn(frame: LiveFrame | null): readonly number[] {
  return (frame?.captured ?? []).filter((one) => one.takenBack === true).map((one) => one.number)
}

/** What a panel is made of: it is built again only when that changes. */
function contentKey(wanted: Panel | 'none', facts: PanelFacts): string {
  if (wanted === 'none' || wanted === 'pedals' || wanted === 'size' || wanted === 'device') return ''
  const offers = (request: 'close job' | 'supply on') => facts.frame?.offers.includes(request)
  return JSON.stringify(
    wanted === 'steps'
      ? [offers('close job'), facts.frame?.steps, takenBackIn(facts.frame)]
      : // who is on the bench is drawn in its place, so that a link that goes takes no form from under a hand
        [offers('supply on'), { ...facts.welcome, places: [] }, facts.frame?.job],
  )
}
