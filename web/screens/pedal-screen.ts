import { button, make, mark, say, show } from '../draw/dom.ts'
import { beginLearning, type KeyEvent, type Learning, learn, type Pedal } from '../hands/learn-pedal.ts'
import { type KeyPlan, USUAL_KEYS } from '../settings/keys.ts'
import { joined } from '../words/text.ts'
import { keyWords, PEDAL } from '../words/words-of-hands.ts'

export interface PedalScreenEnds {
  readonly plan: KeyPlan
  change(to: KeyPlan): void
  back(): void
}

/** Whoever learns without a mouse leaves by these. */
const PRESSES_BUTTONS: readonly string[] = ['Enter', ' ', 'Tab']

/** Which keys the foot switch sends, and whether pedal A can be held: tried out here, kept on this device. */
export function pedalScreen(ends: PedalScreenEnds): HTMLElement {
  let plan = ends.plan
  let learning: Learning | null = null
  const a = pedalRow(PEDAL.a, PEDAL.learnA, () => begin('a'))
  const b = pedalRow(PEDAL.b, PEDAL.learnB, () => begin('b'))
  const usual = button('', PEDAL.usual, () => keep(USUAL_KEYS))
  const usualNow = make('p', 'lead', PEDAL.usualNow)
  const trial = trialArea(() => follow(null))
  const head = make('div', 'row apart', make('h1', '', PEDAL.title), button('', PEDAL.back, ends.back))
  const rows = make('div', 'pedals', a.element, b.element, make('div', 'row', usual, usualNow))
  const element = make('section', 'panel-form pedal-screen', head, make('p', 'lead', PEDAL.lead), trial.element, rows)

  const keep = (to: KeyPlan) => {
    plan = to
    ends.change(to)
    follow(null)
  }
  const draw = () => {
    a.draw(plan.main, plan.holds ? PEDAL.holds : PEDAL.cannotHold)
    b.draw(plan.stop, '')
    const isUsual = JSON.stringify(plan) === JSON.stringify(USUAL_KEYS)
    show(usual, !isUsual)
    show(usualNow, isUsual)
    trial.draw(learning)
    // one thing at a time
    show(rows, learning === null || learning.stage === 'known')
  }
  const begin = (pedal: Pedal) => {
    follow(beginLearning(pedal))
    // away from any button, which Enter and Space would press
    trial.element.focus()
  }
  const follow = (next: Learning | null) => {
    if (next?.stage === 'known') {
      const { pedal, key, holds } = next
      plan = pedal === 'a' ? { ...plan, main: key, holds } : { ...plan, stop: key }
      ends.change(plan)
    }
    learning = next
    draw()
  }
  const hear = (event: KeyboardEvent) => {
    if (!element.isConnected) return stopHearing()
    if (learning === null || learning.stage === 'known') return
    if (event.target instanceof HTMLButtonElement && PRESSES_BUTTONS.includes(event.key)) return
    const { pedal } = learning
    const next = learn(learning, keyEventOf(event), pedal === 'a' ? plan.stop : plan.main)
    // what is refused goes its way: Tab walks on, and STOP stops
    if (next.stage !== 'press' || event.key === plan.main) {
      event.preventDefault()
      event.stopPropagation()
    }
    if (next !== learning) follow(next)
  }
  const stopHearing = () => {
    for (const kind of ['keydown', 'keyup'] as const) document.removeEventListener(kind, hear, true)
  }
  // before the page hears it: a key that is being learned does nothing else
  for (const kind of ['keydown', 'keyup'] as const) document.addEventListener(kind, hear, true)
  draw()
  return element
}

function keyEventOf(event: KeyboardEvent): KeyEvent {
  return {
    kind: event.type === 'keydown' ? 'down' : 'up',
    key: event.key,
    atMs: event.timeStamp,
    repeat: event.repeat,
    together: event.ctrlKey || event.altKey || event.metaKey,
  }
}

function pedalRow(name: string, learnWords: string, press: () => void) {
  const key = make('b')
  const told = make('p', 'lead')
  const element = make(
    'div',
    'row apart',
    make('div', '', make('p', '', name), key, told),
    button('', learnWords, press),
  )
  return {
    element,
    draw(now: string, holds: string) {
      say(key, keyWords(now))
      say(told, holds)
    },
  }
}

/** Where the pedal is tried: what to do, in large letters; a bar that fills while it is held; what came. */
function trialArea(leave: () => void) {
  const asked = make('p', 'trial-asked')
  const said = make('p', 'trial-said')
  said.setAttribute('role', 'status')
  const bar = make('div', 'hold-bar', make('div'))
  const nothing = make('p', 'lead', PEDAL.nothing)
  const stop = button('quiet', PEDAL.leave, leave)
  const element = make('div', 'trial', asked, bar, said, nothing, make('div', 'row', stop))
  element.tabIndex = -1
  return {
    element,
    draw(learning: Learning | null) {
      show(element, learning !== null)
      if (learning === null) return
      const { stage } = learning
      say(asked, askedOf(learning))
      say(said, stage === 'known' ? knownWords(learning) : learning.said)
      show(bar, stage === 'hold')
      mark(bar, 'data-down', stage === 'hold' && learning.downMs !== null ? 'yes' : 'no')
      show(nothing, stage === 'press' && learning.said === '')
      show(stop, stage !== 'known')
    },
  }
}

function askedOf({ stage, pedal }: Learning): string {
  if (stage === 'known') return pedal === 'a' ? PEDAL.knownA : PEDAL.knownB
  if (stage === 'hold') return PEDAL.holdA
  return pedal === 'a' ? PEDAL.pressA : PEDAL.pressB
}

function knownWords({ pedal, holds }: Extract<Learning, { stage: 'known' }>): string {
  if (pedal === 'b') return PEDAL.known
  return joined('joined.sentences', [holds ? PEDAL.holds : PEDAL.cannotHold, PEDAL.known])
}
