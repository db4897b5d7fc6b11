import type { Answer } from '../../src/schema/messages/shown.ts'
import type { ButtonView, View } from '../view/view.ts'
import type { FuseView } from '../view/view-strip.ts'
import { OPEN_DEVICE, OPEN_STEPS, OPEN_WATCH, STOP, STOP_BELOW } from '../words/words.ts'
import { button, make, makeSvg, mark, say, sayInParts, show } from './dom.ts'
import { drawFinished } from './draw-finished.ts'
import { gaugePicture } from './draw-gauge.ts'
import { numberPicture } from './draw-number.ts'
import { drawSheet } from './draw-sheets.ts'
import { type SettingNote, settingList } from './setting-list.ts'
import { typingForm } from './typing-form.ts'

/** What a press on the page may lead to; the drawing only passes it on. */
export interface Presses {
  ask(request: ButtonView['request']): void
  stop(): void
  openAside(): void
  typeIn(quantity: string, text: string, sure: boolean): void
  note(setting: SettingNote): void
}

/** The page in the browser: `draw` puts a view on it. */
export interface Picture {
  draw(view: View): void
  /** Where forms and lists of the page are put, over the gauge. */
  readonly panel: HTMLElement
  /** One line for news of this page: sound held back, a request refused. */
  readonly news: HTMLElement
  /** Where such lines stand. */
  readonly lines: HTMLElement
  readonly status: HTMLElement
  /** Beside the main button: what a long press of the pedal does. */
  readonly hands: HTMLElement
  /** The service has answered what was typed. */
  typed(answer: Answer): void
  gaugePx(): number
  /** The sizes of this device have changed. */
  restyle(): void
}

/** Builds the page once; everything later is changes of text, places and attributes. */
export function openPicture(root: HTMLElement, presses: Presses): Picture {
  const edge = make('div', 'edge')
  const fuse = fuseRing()
  const head = headOf()
  const number = numberPicture()
  const typing = typingForm(presses.typeIn)
  const settings = settingList(presses.note)
  const gauge = gaugePicture()
  const guide = { words: make('p', 'guide-words'), second: make('p', 'guide-second') }
  const call = callOf()
  const sheet = make('section', 'step-sheet')
  const table = make('section', 'table')
  const bar = barOf(presses)
  const strip = make('footer', 'strip')
  const panel = make('section', 'panel')
  const news = make('p', 'news')
  const notice = make('p', 'notice')
  const lines = make('div', 'lines', notice, news)
  const status = make('p', 'for-readers')
  status.setAttribute('role', 'status')
  status.setAttribute('aria-live', 'polite')
  const main = make('main', 'sheet')
  const banner = make('p', 'banner')
  const guideBox = make('div', 'guide', guide.words, guide.second)
  const gaugeBox = make('section', 'gauge-box', head.element, number.element, typing.element, gauge.element, guideBox)
  gaugeBox.setAttribute('aria-live', 'off')
  main.append(gaugeBox, call.element, sheet, settings.element, table, panel, lines, bar.aside, strip, bar.element)
  root.append(edge, main, fuse.element, banner, status)

  const draw = (view: View) => {
    mark(root, 'data-hatch', view.hatch)
    mark(root, 'data-screen', view.screen)
    mark(root, 'data-state', view.state)
    fuse.draw(view.fuse)
    show(gaugeBox, view.screen === 'gauge')
    show(call.element, view.call !== null)
    show(sheet, view.sheet !== null)
    show(table, view.finished !== null)
    show(settings.element, view.settings !== null)
    typing.draw(view.typing, view.keyed)
    if (view.screen === 'gauge') {
      head.draw(view)
      show(number.element, view.typing === null)
      mark(gaugeBox, 'data-typing', view.typing === null ? 'no' : 'yes')
      const wide = number.draw(view) || view.number?.wide === true || view.typing !== null || view.state === 'highest'
      mark(gaugeBox, 'data-wide', wide ? 'yes' : 'no')
      show(gauge.element, view.gauge !== null)
      if (view.gauge !== null) gauge.draw(view.gauge)
      say(guide.words, view.guide.words)
      say(guide.second, view.guide.second)
      guide.second.classList.toggle('loud', view.guide.loud)
    }
    if (view.call !== null) call.draw(view)
    if (view.sheet !== null) drawSheet(sheet, view.sheet)
    if (view.finished !== null) drawFinished(table, view.finished)
    if (view.settings !== null) settings.draw(view.settings)
    bar.draw(view)
    drawStrip(strip, view)
    say(notice, view.notice)
    say(banner, view.banner)
    drawRise(edge, view.rise)
  }
  const restyle = () => {
    gauge.restyle()
    number.restyle()
  }
  return { draw, panel, news, lines, status, hands: bar.hands, typed: typing.answered, gaugePx: gauge.width, restyle }
}

/** Touches the frame only when it changes: it is as large as the screen. */
function drawRise(edge: HTMLElement, rise: number | null): void {
  mark(edge, 'data-rising', rise === null ? 'no' : 'yes')
  const height = rise === null ? '' : `${(rise * 100).toFixed(1)}%`
  if (edge.style.getPropertyValue('--rise') !== height) edge.style.setProperty('--rise', height)
}

/** The key-down as a line that runs round the sheet. */
function fuseRing() {
  const ring = makeSvg('rect', { class: 'fuse-ring', pathLength: 1, x: 0, y: 0, width: '100%', height: '100%', rx: 10 })
  const element = makeSvg('svg', { class: 'fuse', 'aria-hidden': 'true' }, ring)
  show(element, false)
  return {
    element,
    draw(view: FuseView | null) {
      show(element, view !== null)
      if (view === null) return
      mark(element, 'data-level', view.level)
      ring.style.strokeDashoffset = String(1 - view.share)
    },
  }
}

function headOf() {
  const label = make('h1', 'label')
  const where = make('p', 'where')
  const title = make('p', 'title')
  const stop = make('p', 'stop-words')
  const beside = make('p', 'beside')
  const element = make('header', 'head', label, make('div', 'place', where, title, stop, beside))
  return {
    element,
    draw(view: View) {
      say(label, view.head.label)
      mark(label, 'data-long', view.head.label.length > 8 ? 'yes' : 'no')
      mark(label, 'data-word', /\p{Ll}/u.test(view.head.label) ? 'yes' : 'no')
      label.style.setProperty('--chars', String(Math.max(2, view.head.label.length)))
      say(where, view.head.where)
      sayInParts(title, view.head.title)
      say(stop, view.head.stop)
      say(beside, view.beside.join('   '))
    },
  }
}

function callOf() {
  const over = make('p', 'call-over')
  const big = make('p', 'call-big')
  const second = make('p', 'call-second')
  const third = make('p', 'call-third')
  const element = make('section', 'call', over, big, second, third)
  return {
    element,
    draw(view: View) {
      if (view.call === null) return
      say(over, view.call.over)
      say(big, view.call.big)
      big.style.setProperty('--longest', String(longestWord(view.call.big)))
      say(second, view.call.second)
      say(third, view.call.third)
      mark(element, 'data-size', view.call.size)
    },
  }
}

/** Letters of the longest word, a number with its unit being one: it is not broken. */
function longestWord(text: string): number {
  return Math.max(...text.split(/(?<!\d) /).map((word) => word.length))
}

const ASIDE = { steps: OPEN_STEPS, watch: OPEN_WATCH, device: OPEN_DEVICE } as const

/** The step stands on the button that leads to the list, and so not among the small facts. */
function underAside({ aside }: View): boolean {
  return aside === 'steps' || aside === 'watch'
}

function barOf(presses: Presses) {
  const count = make('small')
  const list = make('b')
  const aside = button('aside', '', () => presses.openAside())
  aside.append(list, count)
  const more = make('div', 'more')
  let request: ButtonView['request'] = 'ready'
  const main = button('main', '', () => presses.ask(request))
  const stop = make('button', 'stop', make('b', '', STOP), make('small', '', STOP_BELOW))
  stop.type = 'button'
  stop.addEventListener('click', () => presses.stop())
  const hands = make('div', 'hands-place')
  const element = make('nav', 'bar', more, hands, main, stop)
  return {
    element,
    aside,
    hands,
    draw(view: View) {
      show(aside, view.aside !== '')
      say(list, view.aside === '' ? '' : ASIDE[view.aside])
      say(count, underAside(view) ? (view.strip.find((fact) => fact.id === 'step')?.value ?? '') : '')
      show(main, view.main !== null)
      if (view.main !== null) {
        request = view.main.request
        say(main, view.main.words)
      }
      drawMore(more, view.more, presses)
    },
  }
}

function drawMore(more: HTMLElement, buttons: readonly ButtonView[], presses: Presses): void {
  const wanted = buttons.map((one) => one.request).join(' ')
  if (more.dataset.shown === wanted) return
  more.dataset.shown = wanted
  more.replaceChildren(...buttons.map((one) => button('small', one.words, () => presses.ask(one.request))))
}

function drawStrip(strip: HTMLElement, view: View): void {
  const cells = [...strip.children]
  for (const [index, fact] of view.strip.entries()) {
    const cell = cells[index] ?? strip.appendChild(make('p', 'fact', make('span'), make('b')))
    mark(cell, 'data-fact', fact.id)
    mark(cell, 'data-says', /\d/.test(fact.value) ? 'number' : 'word')
    cell.classList.toggle('loud', fact.loud)
    show(cell, fact.id !== 'step' || !underAside(view))
    const [label, value] = [...cell.children]
    if (label !== undefined) say(label, fact.label)
    if (value !== undefined) say(value, fact.value)
  }
}
