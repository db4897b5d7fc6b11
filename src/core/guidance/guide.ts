import type { LiveFrame, LiveState } from '../../schema/messages/live-frame.ts'
import type { Words } from '../../words/said/said.ts'

/** What the person is told: the state, one sentence, which way the reading should go, and whether hands stay on the tool. */
export interface Guide {
  readonly state: LiveState
  readonly words: Words
  readonly way: LiveFrame['guide']['way']
  readonly hands: LiveFrame['guide']['hands']
  readonly because: Words
  /** How deep the peg has dropped, 0 to 1. */
  readonly drop: number
}

/** A guide of a state and its words, and what differs from saying nothing more. */
export function say(state: LiveState, words: Words, more: Partial<Omit<Guide, 'state' | 'words'>> = {}): Guide {
  return { state, words, way: '', hands: '', because: '', drop: 0, ...more }
}
