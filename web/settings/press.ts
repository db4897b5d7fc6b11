/** A press shorter than this is a short one, ms. */
export const SHORT_MS = 600
/** A press that has lasted this long is a long one, ms; it acts then, while the foot is still down. */
export const LONG_MS = 1200
/** After a press nothing counts for this long, ms: contacts chatter, and a foot that slips off and back meant one press. */
export const QUIET_MS = 150
/** No foot is as quick, ms: a contact that opens again so soon has chattered, or the switch sends its key and lets go at once. */
export const CHATTER_MS = 50

/**
 * Where a pedal stands.
 * - up: presses before `quietUntilMs` are chatter
 * - down: since when; `told` once the hold was announced, `spent` once it has acted
 * - doubt: it went up too soon to say what that was
 */
export type Press =
  | { readonly name: 'up'; readonly quietUntilMs: number }
  | { readonly name: 'down'; readonly sinceMs: number; readonly told: boolean; readonly spent: boolean }
  | { readonly name: 'doubt'; readonly sinceMs: number }

/** What a pedal does, and when, ms of the page's clock. away: the page has lost the keyboard, and may miss the release. */
export interface PedalEvent {
  readonly kind: 'down' | 'up' | 'time' | 'away'
  readonly atMs: number
}

/** What comes of it. began: a press; holding: longer than a short one; between: let go when it was neither short nor long. */
export type PressAct = 'began' | 'holding' | 'short' | 'long' | 'between' | 'lost' | ''

export const PEDAL_UP: Press = { name: 'up', quietUntilMs: Number.NEGATIVE_INFINITY }

interface Pressed {
  readonly press: Press
  readonly act: PressAct
}

/** One event further: where the pedal stands after it, and what it means. */
export function advancePress(press: Press, event: PedalEvent): Pressed {
  switch (event.kind) {
    case 'down':
      return goDown(press, event.atMs)
    case 'up':
      return goUp(press, event.atMs)
    case 'time':
      return wait(press, event.atMs)
    case 'away':
      return press.name === 'up' ? { press, act: '' } : { press: upAt(event.atMs), act: 'lost' }
  }
}

/** The press has done what it was for: what is left of it is only the way up. */
export function spend(press: Press): Press {
  return press.name === 'down' ? { ...press, told: true, spent: true } : press
}

/** When time alone changes something, ms of the page's clock; null while it does not. */
export function dueMs(press: Press): number | null {
  if (press.name === 'up') return null
  if (press.name === 'doubt') return press.sinceMs + QUIET_MS
  if (press.spent) return null
  return press.sinceMs + (press.told ? LONG_MS : SHORT_MS)
}

function goDown(press: Press, atMs: number): Pressed {
  switch (press.name) {
    case 'up':
      if (atMs < press.quietUntilMs) return { press: upAt(atMs), act: '' }
      return { press: { name: 'down', sinceMs: atMs, told: false, spent: false }, act: 'began' }
    case 'doubt':
      return { press: { name: 'down', sinceMs: press.sinceMs, told: false, spent: false }, act: '' }
    case 'down':
      return { press, act: '' }
  }
}

function goUp(press: Press, atMs: number): Pressed {
  if (press.name === 'doubt') return { press, act: '' }
  if (press.name === 'up') return { press: atMs < press.quietUntilMs ? upAt(atMs) : press, act: '' }
  if (press.spent) return { press: upAt(atMs), act: '' }
  const heldMs = atMs - press.sinceMs
  if (heldMs < CHATTER_MS) return { press: { name: 'doubt', sinceMs: press.sinceMs }, act: '' }
  return { press: upAt(atMs), act: heldMs < SHORT_MS ? 'short' : heldMs < LONG_MS ? 'between' : 'long' }
}

function wait(press: Press, atMs: number): Pressed {
  if (press.name === 'up') return { press, act: '' }
  if (press.name === 'doubt')
    return atMs < press.sinceMs + QUIET_MS
      ? { press, act: '' }
      : { press: { name: 'up', quietUntilMs: press.sinceMs + QUIET_MS }, act: 'short' }
  if (press.spent) return { press, act: '' }
  if (atMs >= press.sinceMs + LONG_MS) return { press: spend(press), act: 'long' }
  if (press.told || atMs < press.sinceMs + SHORT_MS) return { press, act: '' }
  return { press: { ...press, told: true }, act: 'holding' }
}

function upAt(atMs: number): Press {
  return { name: 'up', quietUntilMs: atMs + QUIET_MS }
}
