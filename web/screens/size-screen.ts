import { button, make, say, show } from '../draw/dom.ts'
import {
  CARD_MM,
  DISTANCES_M,
  type DistanceM,
  LEAST_PX_PER_MM,
  MOST_PX_PER_MM,
  pxPerMmOf,
  USUAL_PX_PER_MM,
} from '../measure/arc-size.ts'
import { tooSmall } from '../measure/type-sizes.ts'
import { metres, SIZE, sizeWords } from '../words/words-of-size.ts'
import { pick } from './form-parts.ts'

/** What is set up here. */
export interface DeviceSize {
  readonly pxPerMm: number | null
  readonly distanceM: DistanceM
}

export interface SizeScreenEnds {
  readonly size: DeviceSize
  change(to: DeviceSize): void
  back(): void
}

/** A step of the arrow keys and the buttons, CSS px: a third of a percent. */
const STEP_PX = 1
const REPEAT_AFTER_MS = 400
const REPEAT_MS = 50

/** A drawn card is made as wide as a real one; from then on the page knows its millimetres. The distance is chosen below. */
export function sizeScreen(ends: SizeScreenEnds): HTMLElement {
  let kept = ends.size
  let cardPx = Math.round((kept.pxPerMm ?? USUAL_PX_PER_MM) * CARD_MM.width)
  const card = make('div', 'card', make('span', '', SIZE.card))
  const range = make('input', 'size-range')
  range.type = 'range'
  range.min = String(Math.ceil(LEAST_PX_PER_MM * CARD_MM.width))
  range.max = String(Math.floor(MOST_PX_PER_MM * CARD_MM.width))
  range.step = String(STEP_PX)
  range.dataset.first = 'yes'
  const told = make('p', 'size-told')
  told.setAttribute('role', 'status')
  const forget = button('quiet', SIZE.forget, () => keep({ ...kept, pxPerMm: null }))
  const said = make('div', 'size-said')
  said.setAttribute('role', 'status')

  const draw = () => {
    card.style.width = `${cardPx}px`
    card.style.height = `${(cardPx * CARD_MM.height) / CARD_MM.width}px`
    range.value = String(cardPx)
    const px = kept.pxPerMm === null ? null : Math.round(kept.pxPerMm * CARD_MM.width)
    const untouched = px === null && cardPx === Math.round(USUAL_PX_PER_MM * CARD_MM.width)
    say(told, untouched ? SIZE.usual : px === cardPx ? SIZE.kept : SIZE.unkept)
    show(forget, px !== null)
    const screen = { width: innerWidth, height: innerHeight, pxPerMm: pxPerMmOf(cardPx), distanceM: kept.distanceM }
    const words = [...(innerHeight > innerWidth ? [SIZE.sideways] : []), ...sizeWords(kept.distanceM, tooSmall(screen))]
    if (said.textContent !== words.join('')) said.replaceChildren(...words.map((text) => make('p', '', text)))
  }
  const keep = (to: DeviceSize) => {
    kept = to
    if (to.pxPerMm === null) cardPx = Math.round(USUAL_PX_PER_MM * CARD_MM.width)
    ends.change(to)
    draw()
  }
  const turn = (byPx: number) => {
    cardPx = Math.min(Number(range.max), Math.max(Number(range.min), cardPx + byPx))
    draw()
  }
  range.addEventListener('input', () => turn(Number(range.value) - cardPx))
  range.setAttribute('aria-label', SIZE.width)
  const head = make('div', 'row apart', make('h1', '', SIZE.title), button('', SIZE.back, ends.back))
  const smaller = stepButton(SIZE.smaller, () => turn(-STEP_PX))
  const bigger = stepButton(SIZE.bigger, () => turn(STEP_PX))
  const go = button('go', SIZE.keep, () => keep({ ...kept, pxPerMm: pxPerMmOf(cardPx) }))
  const distances = DISTANCES_M.map((distanceM) => {
    const choice = pick('radio', 'distance', make('span', '', metres(distanceM)), distanceM === kept.distanceM)
    choice.input.addEventListener('change', () => keep({ ...kept, distanceM }))
    return choice.element
  })
  const aside = make(
    'div',
    'card-aside',
    told,
    make('p', 'size-lead', SIZE.distance),
    make('div', 'choices', ...distances),
    said,
  )
  const element = make(
    'section',
    'panel-form size-screen',
    head,
    make('div', 'size-row', smaller, bigger, range, go, forget),
    make('p', 'size-lead', SIZE.lead),
    make('div', 'card-place', make('div', 'card-room', card), aside),
  )
  // a click beside everything leaves the arrow keys here
  element.tabIndex = -1
  element.addEventListener('keydown', (event) => {
    const way = WAYS[event.key]
    if (way === undefined || event.target instanceof HTMLInputElement) return
    event.preventDefault()
    turn(way * STEP_PX)
  })
  draw()
  return element
}

const WAYS: Readonly<Record<string, number>> = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }

/** Steps once a press, and on while it is held. */
function stepButton(words: string, step: () => void): HTMLButtonElement {
  let timer = 0
  const element = button('', words, step)
  const end = () => clearInterval(timer)
  element.addEventListener('pointerdown', () => {
    const from = performance.now()
    timer = window.setInterval(() => {
      if (!element.isConnected) end()
      else if (performance.now() - from > REPEAT_AFTER_MS) step()
    }, REPEAT_MS)
  })
  for (const name of ['pointerup', 'pointerleave', 'pointercancel'] as const) element.addEventListener(name, end)
  return element
}
