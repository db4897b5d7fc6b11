import type { NotFree } from '../words/words-of-hands.ts'
import { advancePress, dueMs, PEDAL_UP, type PedalEvent, type Press, spend } from './press.ts'

/** The two pedals as keys; the names are those of KeyboardEvent.key. */
export interface KeyPlan {
  /** Pedal A: what stands on the main button. */
  readonly main: string
  /** Pedal B: STOP. */
  readonly stop: string
  /** Pedal A can be held down; one that lets go by itself never gives a long press. */
  readonly holds: boolean
}

/** PageDown is what foot switches send as they come; Enter, Space and letters fall into fields and buttons. */
export const USUAL_KEYS: KeyPlan = { main: 'PageDown', stop: 'End', holds: true }

/** Stops whatever was learned: whoever stands beside the bench has a keyboard and no pedal. */
const ALWAYS_STOPS = 'End'

/** What a press of pedal A means, settled at the moment at which the foot went down. */
export interface Meant {
  readonly short: (() => void) | null
  readonly long: { readonly words: string; readonly does: () => void } | null
}

export interface KeyEnds {
  plan(): KeyPlan
  /** Pedal A goes down. */
  main(): Meant
  stop(): void
  /** Longer than a short press: what comes if it is held on; "" when it was let go. */
  holding(words: string): void
  /** A press that does nothing, so that the page can say why. */
  inVain(why: 'field' | 'between'): void
}

/**
 * Hears the two pedals in the whole page.
 *
 * Pedal A acts when it is known what the press is. Where a long press is on offer a short one acts on release: a foot is
 * down for a fifth of a second, the capture takes its readings from the seconds before, and a press that acted at once could
 * not become "take it back" any more without having said "next" first. Where nothing is offered for a long press, or the pedal
 * cannot hold, it acts at once. A long press acts at 1.2 s, foot still down. One that ends between 0.6 and 1.2 s does nothing
 * and says so: after a capture a foot that was a little too quick would otherwise go on instead of taking back.
 * What a press means is settled when it begins, by what the page shows then: a dwell that captures half a second later
 * must not turn a mark into "take it back", nor "capture" into "next".
 *
 * Pedal B stops at once, always. There is no key relay that it could hold closed, and keying is seen by the current.
 */
export function hearKeys(ends: KeyEnds): void {
  let press: Press = PEDAL_UP
  let meant: Meant = { short: null, long: null }
  let timer = 0
  const advance = (event: PedalEvent) => {
    const next = advancePress(press, event)
    press = next.press
    if (next.act === 'began') {
      meant = ends.main()
      if (meant.long === null || !ends.plan().holds) {
        press = spend(press)
        meant.short?.()
      }
    } else if (next.act === 'holding') ends.holding(meant.long?.words ?? '')
    else if (next.act !== '') {
      ends.holding('')
      if (next.act === 'short') meant.short?.()
      else if (next.act === 'long') meant.long?.does()
      else if (next.act === 'between') ends.inVain('between')
    }
    const due = dueMs(press)
    clearTimeout(timer)
    if (due === null) return
    timer = window.setTimeout(() => advance({ kind: 'time', atMs: performance.now() }), due - performance.now())
  }
  document.addEventListener('keydown', (event) => {
    const { main, stop } = ends.plan()
    const stops = event.key === stop || event.key === ALWAYS_STOPS
    if (!stops && event.key !== main) return
    if (event.ctrlKey || event.altKey || event.metaKey) return
    if (isWritten(event.target) && !(stops && stopsInside(event.target))) {
      if (!event.repeat) ends.inVain('field')
      return
    }
    event.preventDefault()
    if (event.repeat) return
    if (stops) ends.stop()
    else advance({ kind: 'down', atMs: event.timeStamp })
  })
  // a field may have taken the cursor meanwhile: the release counts wherever it lands
  document.addEventListener('keyup', (event) => {
    if (event.key === ends.plan().main) advance({ kind: 'up', atMs: event.timeStamp })
  })
  window.addEventListener('blur', () => advance({ kind: 'away', atMs: performance.now() }))
}

/** Somebody writes there, and the keys are theirs. */
export function isWritten(target: EventTarget | null): target is HTMLInputElement {
  return target instanceof HTMLInputElement && target.type === 'text'
}

/** Of a short number the stop does not rest. */
function stopsInside(field: HTMLInputElement): boolean {
  return field.dataset.stops === 'yes'
}

/** Keys that neither write, walk nor press anything in a browser. */
const FREE = /^(PageUp|PageDown|Home|End|Insert|Pause|ScrollLock|F1[3-9]|F2[0-4]|Media\w+)$/
/** Keys with something of their own to do, each told for itself. */
const NAMED: Readonly<Record<string, NotFree>> = {
  Enter: 'enter',
  ' ': 'space',
  Tab: 'tab',
  Escape: 'escape',
  Backspace: 'backspace',
  Delete: 'delete',
}
const CHANGES_OTHERS = /^(Shift|Control|Alt|AltGraph|Meta|CapsLock|NumLock|Fn|FnLock|Hyper|Super|Symbol|SymbolLock)$/

/** Why a key cannot be that of a pedal; "" if it can. `others` are the keys that mean something else already. */
export function whyNotFree(key: string, others: { readonly main?: string; readonly stop?: string } = {}): NotFree | '' {
  if (key === others.main) return 'main'
  if (key === others.stop || (others.stop !== undefined && key === ALWAYS_STOPS)) return 'stop'
  if (FREE.test(key)) return ''
  const named = NAMED[key]
  if (named !== undefined) return named
  if (key.startsWith('Arrow')) return 'arrow'
  if (CHANGES_OTHERS.test(key)) return 'other'
  if (key.startsWith('AudioVolume')) return 'loudness'
  if (['Unidentified', 'Process', 'Dead', ''].includes(key)) return 'unnamed'
  return [...key].length === 1 ? 'sign' : 'browser'
}

/** What a device has kept, if it still makes two pedals; else the usual keys. */
export function planOf(stored: unknown): KeyPlan {
  if (!isPlan(stored)) return USUAL_KEYS
  const { main, stop, holds } = stored
  const good = whyNotFree(main, { stop }) === '' && whyNotFree(stop, { main }) === ''
  return good ? { main, stop, holds } : USUAL_KEYS
}

function isPlan(value: unknown): value is KeyPlan {
  if (typeof value !== 'object' || value === null) return false
  if (!('main' in value && 'stop' in value && 'holds' in value)) return false
  return typeof value.main === 'string' && typeof value.stop === 'string' && typeof value.holds === 'boolean'
}
