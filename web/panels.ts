import type { LiveFrame } from '../src/schema/live-frame.ts'
import { jobForm } from './job-form.ts'
import type { Wish } from './live.ts'
import { stepsPanel } from './steps-panel.ts'
import { recordOf } from './view-finished.ts'
import { type Welcome, watchForm } from './watch-form.ts'
import { closedWords } from './words.ts'

/** What may lie over the gauge. `auto`: the first screen while nothing is watched, else nothing. */
export type Panel = 'auto' | 'watch' | 'job' | 'steps'

/** Facts that decide what lies over the gauge. */
export interface PanelFacts {
  readonly frame: LiveFrame | null
  readonly welcome: Welcome | null
  readonly steers: boolean
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
  changed(): void
}

/** The forms and lists of the page, over the gauge. */
export function openPanels(element: HTMLElement, ends: PanelEnds): Panels {
  let panel: Panel = 'auto'
  let shown = 'nothing yet'
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
          settings: ends.settings(),
        })
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
        })
    }
  }
  return {
    open,
    paint(facts) {
      const wanted = wantedPanel(panel, facts)
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
    },
    get covers() {
      return !shown.startsWith('none')
    },
  }
}

/** The job that was just closed, and its record. */
function closedLine(frame: LiveFrame): string {
  if (frame.mode === 'job' || frame.job === null) return ''
  return [closedWords(frame.job.serial), recordOf(frame)].filter((part) => part !== '').join(' ')
}

function wantedPanel(panel: Panel, facts: PanelFacts): Panel | 'none' {
  if (facts.frame !== null && !facts.steers) return 'none'
  if (panel !== 'auto') return panel
  return facts.idle ? 'watch' : 'none'
}

/** What a panel is made of: it is built again only when that changes. */
function contentKey(wanted: Panel | 'none', facts: PanelFacts): string {
  if (wanted === 'none') return ''
  const offers = (request: 'close job' | 'supply on') => facts.frame?.offers.includes(request)
  return JSON.stringify(
    wanted === 'steps'
      ? [offers('close job'), facts.frame?.steps]
      : [offers('supply on'), facts.welcome, facts.frame?.job],
  )
}
