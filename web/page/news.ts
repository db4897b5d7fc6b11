import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { button, make } from '../draw/dom.ts'
import type { Level } from '../sound/heard.ts'
import type { SoundDesk } from '../sound/sound-desk.ts'
import { SETTINGS } from '../words/words.ts'

export interface News {
  /** Shows for a while why something was not done. */
  refuse(words: string): void
  /** Puts the one line that matters now on the page; returns a refusal that still stands, or "". */
  paint(facts: { readonly frame: LiveFrame | null; readonly steers: boolean; readonly level: Level }): string
}

const REFUSAL_MS = 8_000

/** The line of this page's own news: a refusal, the question about headphones, or why nothing is heard. */
export function openNews(element: HTMLElement, desk: SoundDesk, changed: () => void): News {
  let refusal = { words: '', untilMs: 0 }
  let shown = ''
  const answer = (headphones: SoundDesk['headphones']) => () => {
    desk.headphones = headphones
    changed()
  }
  return {
    refuse(words) {
      refusal = { words, untilMs: performance.now() + REFUSAL_MS }
      changed()
    },
    paint({ frame, steers, level }) {
      const refused = performance.now() < refusal.untilMs ? refusal.words : ''
      const asks = refused === '' && frame !== null && steers && desk.asks(frame, level)
      const trouble = frame === null ? '' : desk.trouble(frame, level)
      const words = refused || (asks ? SETTINGS.microphone : trouble)
      const key = `${asks} ${words}`
      if (key === shown) return refused
      shown = key
      const yes = button('', SETTINGS.headphonesYes, answer('yes'))
      const no = button('', SETTINGS.headphonesNo, answer('no'))
      element.replaceChildren(...(words === '' ? [] : [make('span', '', words)]), ...(asks ? [yes, no] : []))
      return refused
    },
  }
}
