import type { Code } from './english/english.ts'
import { text } from './text.ts'

/** What the page says of pedals, marks and values that were taken back. */
export const PEDAL = {
  open: text('pedal.title'),
  title: text('pedal.title'),
  lead: text('pedal.lead'),
  a: text('pedal.a'),
  b: text('pedal.b'),
  learnA: text('pedal.learn-a'),
  learnB: text('pedal.learn-b'),
  usual: text('pedal.usual'),
  usualNow: text('pedal.usual-now'),
  back: text('pedal.back'),
  leave: text('pedal.leave'),
  pressA: text('pedal.press-a'),
  pressB: text('pedal.press-b'),
  holdA: text('pedal.hold-a'),
  nothing: text('pedal.nothing'),
  holdOn: text('pedal.hold-on'),
  keepDown: text('pedal.keep-down'),
  holds: text('pedal.holds'),
  cannotHold: text('pedal.cannot-hold'),
  known: text('pedal.known'),
  knownA: text('pedal.known-a'),
  knownB: text('pedal.known-b'),
} as const

/** Why a key cannot be that of a pedal. */
export type NotFree = Code extends infer C ? (C extends `not-free.${infer Why}` ? Why : never) : never

/** A refused key with the way out: "Enter presses buttons and ends lines of text. Give ..." */
export function refusedWords(key: string, why: NotFree): string {
  return text('pedal.refused', { why: text(`not-free.${why}`, { key: keyName(key) }) })
}

const KEY_NAMES: Readonly<Record<string, string>> = {
  PageDown: text('key-name.page-down'),
  PageUp: text('key-name.page-up'),
  Home: text('key-name.home'),
  End: text('key-name.end'),
  Insert: text('key-name.insert'),
  Pause: text('key-name.pause'),
  ScrollLock: text('key-name.scroll-lock'),
  ' ': text('key-name.space'),
  ArrowUp: text('key-name.arrow-up'),
  ArrowDown: text('key-name.arrow-down'),
  ArrowLeft: text('key-name.arrow-left'),
  ArrowRight: text('key-name.arrow-right'),
}

/** A key as it is written on a keyboard. */
export function keyName(key: string): string {
  return KEY_NAMES[key] ?? (key.length === 1 ? key.toUpperCase() : key)
}

/** "Key: Page Down", with what is known of holding. */
export function keyWords(key: string): string {
  return text('pedal.key', { key: keyName(key) })
}

export function arrivedWords(key: string): string {
  return text('pedal.arrived', { key: keyName(key) })
}

export function anotherKeyWords(key: string): string {
  return text('pedal.another-key', { key: keyName(key) })
}

/** `heldMs` is how long the contact was closed. */
export function soonUpWords(heldMs: number): string {
  return text('pedal.soon-up', { time: secondsWords(heldMs) })
}

export function byItselfWords(heldMs: number): string {
  return text('pedal.by-itself', { time: secondsWords(heldMs) })
}

function secondsWords(ms: number): string {
  return `${(Math.max(0, ms) / 1000).toFixed(2)} s`
}

/** What is said of presses that do something else than what stands on the main button, or nothing. */
export const PRESS = {
  inField: text('press.in-field'),
  covered: text('press.covered'),
  between: text('press.between'),
  holdTakeBack: text('press.hold-take-back'),
  holdKeep: text('press.hold-keep'),
  holdMark: text('press.hold-mark'),
} as const

export const TAKE_BACK = {
  button: text('take-back.button'),
  taken: text('take-back.taken'),
} as const

/** Seconds in which the last capture can still be taken back. */
export function leftWords(seconds: number, holds: boolean): string {
  return text(holds ? 'take-back.left-or-hold' : 'take-back.left', { time: `${seconds} s` })
}

export const MARKS = {
  button: text('mark.button'),
  title: text('mark.title'),
  mark: text('mark.now'),
  lead: text('mark.lead'),
  without: text('mark.without'),
} as const

/** "Marked: 3.85 W. Say later what it was." */
export function markedWords(reading: string): string {
  return reading === '' ? text('mark.marked') : text('mark.marked-at', { reading })
}

/** Name of the field in which a mark is explained. */
export function markName(number: number): string {
  return text('mark.name', { number })
}

export function unsaidWords(count: number): string {
  return count === 1 ? text('mark.one-unsaid') : text('mark.unsaid', { count })
}

export const CAUTION = {
  title: text('caution.title'),
  first: text('caution.first'),
  more: text('caution.more'),
} as const

export function seenBeforeWords(count: number): string {
  return text('caution.seen-before', { count })
}
