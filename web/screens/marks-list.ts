import type { Mark } from '../../src/schema/messages/shown.ts'
import { button, make, say, show } from '../draw/dom.ts'
import { timeWords } from '../words/figures.ts'
import { MARKS, markName } from '../words/words-of-hands.ts'
import { textField } from './form-parts.ts'

export interface MarksEnds {
  explain(number: number, words: string): void
  mark(): void
}

/** The marks of a job. It lives as long as the page, so that words half written outlast the list of steps round it. */
export interface MarksList {
  readonly element: HTMLElement
  draw(marks: readonly Mark[], canMark: boolean): void
}

const MOST_LETTERS = 200

/** Each marked moment with a field for what it was; leaving the field, or Enter, sends the words. */
export function marksList(ends: MarksEnds): MarksList {
  const now = button('quiet', MARKS.mark, ends.mark)
  const head = make('div', 'row apart', make('h2', '', MARKS.title), now)
  const lead = make('p', 'lead', MARKS.lead)
  const list = make('ol', 'mark-list')
  const element = make('section', 'marks-list', head, lead, list)
  const lines = new Map<number, ReturnType<typeof markLine>>()
  return {
    element,
    draw(marks, canMark) {
      // another job begins its marks anew
      const gone = [...lines.keys()].some((number) => !marks.some((one) => one.number === number))
      if (gone) {
        lines.clear()
        list.replaceChildren()
      }
      for (const one of marks) {
        const line = lines.get(one.number) ?? markLine(one, (words) => ends.explain(one.number, words))
        if (!lines.has(one.number)) list.append(line.element)
        lines.set(one.number, line)
        line.draw(one.words)
        // not every browser sends blur for a field that is taken away
        if (!element.isConnected) line.leave()
      }
      show(now, canMark)
      show(lead, marks.length > 0)
      show(element, canMark || marks.length > 0)
    },
  }
}

function markLine(one: Mark, explain: (words: string) => void) {
  const { element: field, input } = textField(markName(one.number), '', MOST_LETTERS)
  const reading = one.reading === '' ? MARKS.without : one.reading
  const told = make('p', 'marked', make('b', '', reading), make('span', '', one.title))
  const time = make('small')
  told.append(time)
  const element = make('li', '', told, field)
  let kept = one.words
  let sent = one.words
  input.value = kept
  say(time, timeWords(one.at))
  const unkept = () => input.classList.toggle('unkept', input.value.trim() !== kept)
  const leave = () => {
    const words = input.value.trim()
    if (words === kept || words === sent) return
    sent = words
    explain(words)
  }
  input.addEventListener('input', unkept)
  input.addEventListener('blur', leave)
  input.addEventListener('keydown', (event) => {
    if (event.key === 'Enter') input.blur()
  })
  return {
    element,
    leave,
    draw(words: string) {
      // what is written meanwhile is not written over
      if (words !== kept && (input.value.trim() === kept || input.value === '')) input.value = words
      if (words !== kept) sent = words
      kept = words
      unkept()
    },
  }
}
