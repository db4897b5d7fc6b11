import { fitNumber, type NumberWidths, wishedWidthPx } from '../measure/fit-number.ts'
import type { View } from '../view/view.ts'
import { make, makeSvg, say, show } from './dom.ts'

/** The biggest number, its unit, and the tick when it is captured. */
export interface NumberPicture {
  readonly element: HTMLElement
  /** Returns whether the number wants the width of a small screen for itself. */
  draw(view: View): boolean
  /** The sizes of this device have changed. */
  restyle(): void
}

/** Letters are placed on whole px at each size, so that a line grows a little more or less than its type. */
const PLAY = 0.985
/** Share of the width up to which the adjuster's name has room beside the number on a small screen. */
const SHARED = 0.72

/** Builds the number; its parts are measured again when its form or its room changes, not with every reading. */
export function numberPicture(): NumberPicture {
  const tick = makeSvg('svg', { class: 'tick', viewBox: '0 0 100 100', 'aria-hidden': 'true' })
  tick.append(makeSvg('path', { d: 'M8 54L38 86L92 12' }))
  const headPart = make('span', 'head-part')
  const tail = make('span', 'tail')
  const dim = make('span', 'dim')
  const digits = make('span', 'digits', headPart, tail, dim)
  const unit = make('span', 'unit')
  const age = make('span', 'age')
  const element = make('div', 'number', tick, digits, unit, age)
  let fitted = ''
  let wide = false
  let digitPx = 0
  let boxPx = 0
  let box: Element | null = null

  const fitToRoom = () => {
    const shape = [digits.className, headPart, tail, dim, unit, age]
      .map((part) => (typeof part === 'string' ? part : part.textContent.replace(/\d/g, '0')))
      .join('|')
    const key = `${shape} ${tick.hasAttribute('hidden')} ${digitPx} ${boxPx}`
    if (key === fitted || boxPx < 10 || element.getClientRects().length === 0) return
    fitted = key
    const typePx = digitPx / (digits.classList.contains('word') ? 0.95 : 0.72)
    const takesRoom = !tick.hasAttribute('hidden') && getComputedStyle(tick).position !== 'absolute'
    const tickPx = takesRoom ? digitPx * 1.25 : 0
    const widths = widthsOf()
    wide = tickPx + wishedWidthPx(widths, typePx) > boxPx * SHARED
    const { typePx: now, headShare, restShare } = fitNumber(widths, (boxPx - tickPx) * PLAY, typePx)
    element.style.setProperty('--digit-type', `${now.toFixed(2)}px`)
    element.style.setProperty('--head-share', headShare.toFixed(3))
    element.style.setProperty('--rest-share', restShare.toFixed(3))
  }

  const widthsOf = (): NumberWidths => {
    const ems = (part: Element) => part.getBoundingClientRect().width / (typeOf(part) || 1)
    // the struck number is crossed by a bar that hangs over at both sides
    const over = digits.classList.contains('struck') ? 0.08 : 0
    const beside = age.textContent !== '' && getComputedStyle(age).flexBasis !== '100%'
    return {
      head: ems(headPart),
      tail: ems(tail) + ems(dim) + over,
      rest: ems(unit) + (unit.textContent === '' ? 0 : 0.25) + (beside ? ems(age) + 0.9 : 0),
    }
  }

  const measure = () => {
    digitPx = Number.parseFloat(getComputedStyle(element).getPropertyValue('--digit'))
    boxPx = box?.clientWidth ?? 0
    fitToRoom()
  }
  /** The room is looked at when it changes, not with every reading: asking for it holds the drawing up. */
  const watchRoom = () => {
    if (box !== null || element.parentElement === null) return
    box = element.parentElement
    new ResizeObserver(measure).observe(box)
    measure()
  }

  return {
    element,
    draw(view) {
      watchRoom()
      show(tick, view.head.tick)
      const number = view.number
      show(digits, number !== null)
      if (number === null) return false
      const steady = Math.max(0, number.dimFrom - number.head.length)
      say(headPart, number.head)
      say(tail, number.tail.slice(0, steady))
      say(dim, number.tail.slice(steady))
      say(unit, number.unit)
      say(age, number.age)
      digits.classList.toggle('word', number.word)
      digits.classList.toggle('struck', number.struck)
      digits.classList.toggle('faint', number.faint)
      fitToRoom()
      return wide
    },
    restyle: measure,
  }
}

function typeOf(element: Element): number {
  return Number.parseFloat(getComputedStyle(element).fontSize)
}
