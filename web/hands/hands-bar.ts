import { button, make, say, show } from '../draw/dom.ts'
import { leftWords, MARKS, TAKE_BACK } from '../words/words-of-hands.ts'

export interface HandsView {
  /** Seconds in which the last capture can be taken back; null while it cannot. */
  readonly leftS: number | null
  /** A long press of the pedal does the same. */
  readonly holds: boolean
  /** Marks can be made. */
  readonly marks: boolean
}

/** The buttons for what a long press does: "Take it back" while that is possible, and "Mark" where no pedal can be held. */
export function handsBar(presses: { takeBack(): void; mark(): void }) {
  const takeBack = button('take-back', '', presses.takeBack)
  const left = make('small')
  takeBack.append(make('b', '', TAKE_BACK.button), left)
  const marks = button('', MARKS.button, presses.mark)
  const element = make('div', 'hands', takeBack, marks)
  return {
    element,
    draw({ leftS, holds, marks: canMark }: HandsView) {
      show(takeBack, leftS !== null)
      if (leftS !== null) say(left, leftWords(leftS, holds))
      show(marks, leftS === null && canMark && !holds)
      show(element, leftS !== null || (canMark && !holds))
    },
  }
}
