import { type Menu, timeOutMs } from './menu.ts'

/** What the set makes of its key: how long it has transmitted, whether its timer ended that, and the tone on release. */
export interface Keying {
  keyPressed: boolean
  readonly menu: Menu
  /** Transmitted since the key went down, ms. */
  keyedMs: number
  /** The timer has ended the transmission; only a new press starts another. */
  timedOut: boolean
  /** What is left of the end-of-call tone, during which the carrier stays, ms. */
  toneLeftMs: number
}

/** The key as it lies there: up. */
export function keyUp(menu: Menu): Keying {
  return { keyPressed: false, menu, keyedMs: 0, timedOut: false, toneLeftMs: 0 }
}

/** Whether the set tries to transmit. */
export function wantsCarrier(keying: Readonly<Keying>): boolean {
  return keying.toneLeftMs > 0 || (keying.keyPressed && !keying.timedOut)
}

/** The key has moved from `before` to where it is now. Switching off (`loseKey`) is no release and sounds no tone. */
export function keyMoved(keying: Keying, before: boolean): void {
  if (before === keying.keyPressed) return
  const transmitted = keying.keyedMs > 0 && !keying.timedOut
  const sounds = before && transmitted && keying.menu['end-of-call tone'] === 'on'
  keying.toneLeftMs = sounds ? END_TONE_MS : 0
  keying.keyedMs = 0
  keying.timedOut = false
}

/** The set is switched off, or starves: whatever it made of its key is forgotten. */
export function loseKey(keying: Keying): void {
  keying.keyedMs = 0
  keying.timedOut = false
  keying.toneLeftMs = 0
}

/** `dtMs` further, with conditions constant. */
export function stepKeying(keying: Keying, working: boolean, transmitting: boolean, dtMs: number): void {
  if (!working) loseKey(keying)
  else if (keying.toneLeftMs > 0) keying.toneLeftMs = leftOf(keying.toneLeftMs - dtMs)
  else if (transmitting) {
    keying.keyedMs += dtMs
    keying.timedOut = leftOf(timeOutMs(keying.menu) - keying.keyedMs) === 0
  }
}

/** Until the set ends something by itself, ms; always more than 0, also where that is overdue. */
export function keyingChangesInMs(keying: Readonly<Keying>): number {
  if (keying.toneLeftMs > 0) return keying.toneLeftMs
  if (!keying.keyPressed || keying.timedOut) return Number.POSITIVE_INFINITY
  return Math.max(timeOutMs(keying.menu) - keying.keyedMs, LEAST_MS)
}

/** Sums of floating steps end a little beside their mark: less than a microsecond is nothing. */
function leftOf(ms: number): number {
  return ms > LEAST_MS ? ms : 0
}

const LEAST_MS = 1e-3

/** The end-of-call tone: how long, how high, and how strong at the limiter, as volts at the microphone socket. */
export const END_TONE_MS = 300
export const END_TONE = { hz: 1250, volts: 30e-3 } as const
