import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { make, mark, say } from '../draw/dom.ts'
import { isWritten } from '../settings/keys.ts'
import { TYPING } from '../words/words-of-forms.ts'
import { markedWords, PRESS, unsaidWords } from '../words/words-of-hands.ts'

const TOLD_MS = 5_000

export interface HandsNote {
  readonly element: HTMLElement
  /** Says something for a while. */
  tell(words: string): void
  /** Says what comes of a press that is held on; "" when it was let go. */
  hold(words: string): void
  /** Paints; returns what was told and still stands, or "". */
  paint(frame: LiveFrame | null): string
}

/** One line for what the pedal does or does not: held on, marked, resting while a text field has the cursor. */
export function handsNote(changed: () => void): HandsNote {
  const words = make('span')
  const element = make('p', 'hands-note', words, make('i'))
  let told = { words: '', untilMs: 0 }
  let holding = ''
  let seen: { readonly job: string; readonly marks: number } | null = null
  for (const kind of ['focusin', 'focusout'] as const) document.addEventListener(kind, changed)
  const tell = (text: string) => {
    told = { words: text, untilMs: performance.now() + TOLD_MS }
    changed()
  }
  return {
    element,
    tell,
    hold(text) {
      holding = text
      changed()
    },
    paint(frame) {
      if (frame !== null) {
        const job = frame.job?.id ?? ''
        const newest = frame.marks.at(-1)
        // what a job already had when it was opened is no news
        if (seen?.job === job && newest !== undefined && frame.marks.length > seen.marks)
          tell(markedWords(newest.reading))
        seen = { job, marks: frame.marks.length }
      }
      const stands = performance.now() < told.untilMs ? told.words : ''
      say(words, holding || stands || restWords() || unsaidAtTheEnd(frame))
      mark(element, 'data-holding', holding === '' ? 'no' : 'yes')
      return stands
    },
  }
}

/** A field with a note of its own says it itself. */
function restWords(): string {
  const field = document.activeElement
  if (!isWritten(field)) return ''
  const own = field.closest('.field')?.querySelector('.keys-rest')
  if (own != null && own.getClientRects().length > 0) return ''
  return field.dataset.stops === 'yes' ? TYPING.keysRest : PRESS.inField
}

function unsaidAtTheEnd(frame: LiveFrame | null): string {
  if (frame?.state !== 'finished') return ''
  const unsaid = frame.marks.filter((one) => one.words === '').length
  return unsaid === 0 ? '' : unsaidWords(unsaid)
}
