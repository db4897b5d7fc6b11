import { whyNotFree } from '../settings/keys.ts'
import { CHATTER_MS, LONG_MS } from '../settings/press.ts'
import { joined } from '../words/text.ts'
import {
  anotherKeyWords,
  arrivedWords,
  byItselfWords,
  PEDAL,
  refusedWords,
  soonUpWords,
} from '../words/words-of-hands.ts'

/** Which pedal is learned: A, or B for STOP. */
export type Pedal = 'a' | 'b'

/** Learning which key a pedal sends, and whether it can be held down. */
export type Learning =
  | { readonly stage: 'press'; readonly pedal: Pedal; readonly said: string }
  | {
      readonly stage: 'hold'
      readonly pedal: 'a'
      readonly key: string
      readonly said: string
      /** Since when it is down, ms; null while it is up. */
      readonly downMs: number | null
      /** How often it has gone up sooner than any foot. */
      readonly quick: number
    }
  | { readonly stage: 'known'; readonly pedal: Pedal; readonly key: string; readonly holds: boolean }

/** A key of any kind went down or up, at ms of the page's clock; `together` with Ctrl, Alt or the like. */
export interface KeyEvent {
  readonly kind: 'down' | 'up'
  readonly key: string
  readonly atMs: number
  readonly repeat: boolean
  readonly together: boolean
}

/** Twice in a row is no clumsy foot. */
const QUICK_ENOUGH = 2

export function beginLearning(pedal: Pedal): Learning {
  return { stage: 'press', pedal, said: '' }
}

/** One key event further. `other` is the key of the other pedal, which is not free. */
export function learn(before: Learning, event: KeyEvent, other: string): Learning {
  if (before.stage === 'known' || event.repeat) return before
  if (before.stage === 'press') return event.kind === 'down' ? arrive(before.pedal, event, other) : before
  if (event.key !== before.key) {
    if (event.kind === 'up') return before
    const next = arrive('a', event, other)
    return next.stage === 'hold'
      ? { ...next, said: joined('joined.sentences', [anotherKeyWords(event.key), PEDAL.holdOn]) }
      : next
  }
  if (event.kind === 'down') return { ...before, downMs: event.atMs }
  return before.downMs === null ? before : letGo(before, event.atMs - before.downMs)
}

function arrive(pedal: Pedal, event: KeyEvent, other: string): Learning {
  const others = pedal === 'a' ? { stop: other } : { main: other }
  const refused = event.together ? 'together' : whyNotFree(event.key, others)
  if (refused !== '') return { stage: 'press', pedal, said: refusedWords(event.key, refused) }
  if (pedal === 'b') return { stage: 'known', pedal, key: event.key, holds: true }
  const said = joined('joined.sentences', [arrivedWords(event.key), PEDAL.holdOn])
  return { stage: 'hold', pedal, key: event.key, said, downMs: null, quick: 0 }
}

function letGo(before: Extract<Learning, { stage: 'hold' }>, heldMs: number): Learning {
  const { pedal, key } = before
  if (heldMs >= LONG_MS) return { stage: 'known', pedal, key, holds: true }
  if (heldMs >= CHATTER_MS) return { ...before, downMs: null, quick: 0, said: soonUpWords(heldMs) }
  const quick = before.quick + 1
  if (quick >= QUICK_ENOUGH) return { stage: 'known', pedal, key, holds: false }
  return { ...before, downMs: null, quick, said: joined('joined.sentences', [byItselfWords(heldMs), PEDAL.keepDown]) }
}
