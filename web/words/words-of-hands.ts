/** What the page says of pedals, marks and values that were taken back. */
export const PEDAL = {
  open: 'Foot switch',
  title: 'Foot switch',
  lead: 'A foot switch is a keyboard with one or two keys. Here the page learns which ones.',
  a: 'Pedal A: ready, capture, next. Held down: take it back, or mark this moment.',
  b: 'Pedal B: STOP, at once.',
  learnA: 'Learn pedal A',
  learnB: 'Learn pedal B',
  usual: 'The usual keys',
  usualNow: 'These are the usual keys.',
  back: 'Back',
  leave: 'Leave it as it is',
  pressA: 'Press pedal A',
  pressB: 'Press pedal B',
  holdA: 'Hold pedal A down',
  nothing:
    'Nothing comes? Some foot switches act as a mouse, or send nothing before their own set-up has given them a key.',
  holdOn: 'Now press it again and hold it down until the bar is full.',
  keepDown: 'Press once more, and keep the foot down.',
  holds: 'It can be held: long presses work.',
  cannotHold: 'It lets go by itself: this pedal can never give a long press. Mark and Take it back stay on the screen.',
  known: 'Kept on this device.',
  knownA: 'Pedal A is known',
  knownB: 'Pedal B is known',
} as const

/** Why a key cannot be that of a pedal. */
export const NOT_FREE = {
  Enter: 'Enter presses buttons and ends lines of text',
  ' ': 'Space presses buttons and falls into text',
  Tab: 'Tab walks from field to field',
  Escape: 'Escape closes things, and leaves the full screen',
  Backspace: 'Backspace deletes text',
  Delete: 'Delete deletes text',
  arrow: 'arrows change choices, such as the sound',
  sign: 'letters, digits and signs fall into text fields',
  other: 'it changes what other keys do',
  browser: 'the browser or the computer does something of its own with it',
  loudness: 'it changes the loudness of the gauge',
  together: 'it comes together with Ctrl, Alt or a like key',
  stop: 'it is the key of STOP',
  main: 'it is the key of pedal A',
  unnamed: 'the browser has no name for it',
} as const

/** A refused key with the way out: "Enter presses buttons and ends lines of text. Give ..." */
export function refusedWords(name: string, why: string): string {
  const said = why.startsWith(name) ? why : `${name}: ${why}`
  return `${said}. Give the foot switch another key in its own set-up: Page Down, Page Up or F13 to F24 are free.`
}

const KEY_NAMES: Readonly<Record<string, string>> = {
  PageDown: 'Page Down',
  PageUp: 'Page Up',
  ScrollLock: 'Scroll Lock',
  ' ': 'Space',
  ArrowUp: 'Arrow up',
  ArrowDown: 'Arrow down',
  ArrowLeft: 'Arrow left',
  ArrowRight: 'Arrow right',
}

/** A key as it is written on a keyboard. */
export function keyName(key: string): string {
  return KEY_NAMES[key] ?? (key.length === 1 ? key.toUpperCase() : key)
}

/** "Key: Page Down", with what is known of holding. */
export function keyWords(key: string): string {
  return `Key: ${keyName(key)}`
}

export function arrivedWords(key: string): string {
  return `${keyName(key)} has come, and it is free.`
}

export function anotherKeyWords(key: string): string {
  return `Another key has come: ${keyName(key)}.`
}

/** `heldMs` is how long the contact was closed. */
export function soonUpWords(heldMs: number): string {
  return `It was down for ${secondsWords(heldMs)} only. Hold it until the bar is full.`
}

export function byItselfWords(heldMs: number): string {
  return `It went up after ${secondsWords(heldMs)}.`
}

function secondsWords(ms: number): string {
  return `${(Math.max(0, ms) / 1000).toFixed(2)} s`
}

/** What is said of presses that do something else than what stands on the main button, or nothing. */
export const PRESS = {
  inField: 'The foot switch rests: a text field has the cursor. Tab leaves the field.',
  covered: 'The foot switch rests: a list or form lies over the gauge.',
  between: 'Neither short nor long: press again.',
  holdTakeBack: 'Hold on: take it back',
  holdKeep: 'Hold on: keep it as it is',
  holdMark: 'Hold on: mark this moment',
} as const

export const TAKE_BACK = {
  button: 'Take it back',
  hold: 'hold the pedal',
  taken: 'taken back',
} as const

/** Seconds in which the last capture can still be taken back. */
export function leftWords(seconds: number, holds: boolean): string {
  return holds ? `${seconds} s, or ${TAKE_BACK.hold}` : `${seconds} s left`
}

export const MARKS = {
  button: 'Mark',
  title: 'Marks',
  mark: 'Mark this moment',
  lead: 'Moments that were marked. What was it?',
  without: 'nothing was read',
} as const

/** "Marked: 3.85 W. Say later what it was." */
export function markedWords(reading: string): string {
  return `Marked${reading === '' ? '' : `: ${reading}`}. Say later what it was.`
}

/** Name of the field in which a mark is explained. */
export function markName(number: number): string {
  return `Mark ${number}, what it was`
}

export function unsaidWords(count: number): string {
  return `${count === 1 ? '1 mark has' : `${count} marks have`} no words yet: they stand under Steps.`
}

export const CAUTION = {
  title: 'CAUTION',
  first: 'Read before Ready',
  more: 'more below: Ready reads on',
} as const

export function seenBeforeWords(count: number): string {
  return `cautions seen before: ${count}`
}
