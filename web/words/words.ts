import type { Quantity } from '../../src/quantity/quantity.ts'
import type { Captured, LiveState, Pass, RequestKind, StepLine } from '../../src/schema/messages/shown.ts'

/** Every word of the page stands here and in words-of-forms.ts, so that one read shows how the page talks; readings and guidance come in the frame. */

/** What the guidance line says where the frame brings no words of its own. */
export const GUIDE: Readonly<Record<LiveState, string>> = {
  idle: '',
  'read step': '',
  'supply moving': 'The supply moves',
  action: '',
  'key now': 'Key now',
  'release key': 'Release the key',
  rest: 'Rest',
  'hold-off': 'Wait: readings do not count yet',
  settling: 'Hands off',
  far: 'Bring it into the slot',
  near: 'A little more',
  in: 'In',
  steady: 'In, and steady',
  climb: 'Go on while it rises',
  'passed over': 'BACK',
  return: 'Slowly back to the best',
  'at best': 'At the best',
  nudge: 'A small turn, then hands still',
  highest: 'Looking for the largest',
  warming: 'The set grows warm',
  'type in': 'Read the meter, then type',
  settings: 'Write down the settings of the set',
  question: 'Look, then answer',
  captured: 'Captured',
  'wrong channel': 'Wrong channel',
  'no effect': 'Hardly any effect',
  'cannot reach': 'Cannot be reached',
  'over range': 'Over range',
  old: 'Do not turn',
  'link lost': 'Do not turn',
  paused: 'Paused',
  stopped: 'Supply off',
  finished: 'Finished',
}

/** The huge words of states in which one thing is to be done or known. */
export const CALL: Readonly<Partial<Record<LiveState, string>>> = {
  'key now': 'KEY NOW',
  'release key': 'RELEASE',
  rest: 'REST',
  'wrong channel': 'Wrong channel',
  'no effect': 'Hardly any effect',
  'cannot reach': 'Cannot be reached',
  paused: 'Paused',
}

export const DO_NOT_TURN = 'Do not turn'
export const NO_SERVICE = 'no word from the bench computer'
/** Large, until STOP has come through. */
export const STOP_NOT_DELIVERED = { big: 'STOP was not delivered', second: 'Switch the supply off by hand' } as const
/** What the service said to a STOP that came late. */
export function stopDeliveredWords(answer: string): string {
  return `STOP is delivered now: ${answer}`
}
export const NO_NUMBER = 'no reading'
export const METER_TOO_COARSE = 'meter too coarse to prove this'
export const AT_THE_EDGE = 'in, but within meter doubt of the edge'
export const SIMULATED = 'SIMULATED'
export const ANOTHER_STEERS = 'Another page steers'
export const NOBODY_STEERS = 'No page steers'
export const START_MARK = 'start'
export const NOTHING_CAPTURED = 'Nothing was captured.'
/** Said beside the guidance where it does not speak of the hands itself. */
export const HANDS = { on: '', off: 'hands off the tool', '': '' } as const
/** Stands where the adjuster's label stands in a step that turns nothing. */
export const NO_ADJUSTER = {
  set: 'supply',
  peak: 'check',
  dip: 'check',
  check: 'check',
  highest: 'highest',
  wait: 'wait',
  do: 'to do',
  settings: 'settings',
} as const
export const TECHNIQUE = {
  set: 'set to',
  peak: 'peak',
  dip: 'dip',
  check: 'check only',
  highest: 'highest seen',
  wait: 'wait',
  do: 'to do',
  settings: 'settings',
} as const

/** Words on the buttons. STOP is not among them: it is always there. */
export const ASK = {
  ready: 'Ready',
  confirm: 'Done',
  'go on': 'Go on',
  capture: 'Capture',
  next: 'Next',
  again: 'Once more',
  keep: 'Keep it',
  steer: 'Steer from here',
  'hand over': 'Hand over',
  'close job': 'Close the job',
} as const satisfies Partial<Record<RequestKind, string>>
/** The button says this, so the call need not. */
/** On a simulated bench a wait for warmth may be cut short. */
export const WARM_ALREADY = 'Warm already'
/** The answer to a question about a value that nobody should be quick with is the other one. */
export const READ_AGAIN = 'Read again'
export const NOTE_AND_GO_ON = 'Note it, go on'
export const ASKED_TO_STEER = 'asked; the other page has to agree'
export const STEER_WANTED = 'Another page wants to steer'
export const STOP = 'STOP'
export const STOP_BELOW = 'supply off'
export const OPEN_STEPS = 'Steps'
export const OPEN_WATCH = 'Change'
export const OPEN_DEVICE = 'This screen'
/** Something odd happened: the service keeps what led to it. */
export const KEEP_COURSE = 'Keep what happened'

export const STRIP = {
  step: 'step',
  watching: 'just watching',
  set: 'the set',
  transmit: 'TRANSMIT',
  receive: 'receive',
  plug: 'at the plug',
  current: 'current',
  reading: 'reading',
  bench: 'bench',
  notRead: 'not read',
  off: 'off',
  none: 'none yet',
} as const

export const SHEET = {
  target: 'target',
  channel: 'channel',
  state: 'mode',
  supply: 'supply',
  supplyUntouched: 'as it is',
  tone: 'tone',
  before: 'before',
  tool: 'tool',
  where: 'where',
  stop: 'reading',
  drawing: 'Show it drawn',
  words: 'Back to the words',
} as const

/** The three passes of a job, as headings. */
export const PASS: Readonly<Record<Pass, string>> = { found: 'as found', work: 'aligning', left: 'as left' }

/** How a line of the step list says where it stands. */
export const STEP_STATE: Readonly<Record<StepLine['state'], string>> = {
  'to do': 'to do',
  open: 'now',
  done: 'done',
  'out of band': 'out of band',
  'left out': 'left out',
}

export const VERDICT: Readonly<Record<Captured['verdict'], string>> = {
  inside: 'inside',
  low: 'too low',
  high: 'too high',
  unread: 'not read',
}

/** How a value was come by, where that is worth saying beside the number. */
export const LABEL: Readonly<Record<Captured['label'], string>> = {
  settled: '',
  peaked: '',
  drifting: 'drifting',
  short: 'short',
  highest: 'largest seen',
  typed: 'typed',
}

export const SETTINGS = {
  sound: 'Sound',
  light: 'Light ground',
  dark: 'Dark ground',
  levels: { all: 'all', guide: 'guide only', events: 'events only', none: 'none' },
  held: 'sound is held back by the browser: touch the page',
  interrupted: 'sound was interrupted: touch the page',
  microphone: 'The microphone may hear the gauge in this step. Do you wear headphones?',
  headphonesYes: 'Headphones on',
  headphonesNo: 'Stay silent',
  silentForMicrophone: 'silent: the microphone would hear it',
  microphoneOpen: 'silent: the microphone is open',
  handbook: 'Handbook',
  maySleep: 'This screen may go to sleep: set its time-out by hand.',
} as const

export const RELOAD = 'This page is older than the bench program: reload it.'
export const TOKEN_MISSING = 'This page was not served by Trimwright: open the address that it printed.'

/** Quantities as a button says them. */
export const QUANTITY_WORDS: Readonly<Record<Quantity, string>> = {
  frequency: 'Frequency',
  'RF power': 'RF power',
  'FM deviation': 'FM deviation',
  'AM depth': 'AM depth',
  'DC voltage': 'DC voltage',
  'DC current': 'DC current',
  'audio level': 'Audio level',
  'audio distortion': 'Audio distortion',
  SINAD: 'SINAD',
  'audio tone': 'Audio tone',
  'RF level': 'RF level',
  'signal meter': 'Signal meter',
}

/** Beside what is to be done about the band. */
export function bandsAsked(bands: readonly string[]): string {
  return bands.length === 0 ? '' : `asked for: ${bands.join(', ')}`
}

/** How far outside the band, counted in whole widths of the band: "4 bands too high"; "" inside. */
export function distanceWords(e: number): string {
  const bands = (Math.abs(e) - 1) / 2
  return bands > 0 ? `${bandWords(bands)} ${e > 0 ? 'too high' : 'too low'}` : ''
}

function bandWords(bands: number): string {
  if (bands < 0.12) return 'a hair'
  if (bands < 0.38) return '¼ band'
  if (bands < 0.75) return '½ band'
  if (bands < 1.5) return '1 band'
  return bands < 20.5 ? `${Math.round(bands)} bands` : 'far'
}

/** "0.23 dB below the best", or "within 0.05 dB". */
export function belowWords(belowDb: number, windowDb: number): string {
  if (belowDb <= windowDb) return `within ${trimmed(windowDb)} dB`
  return `${belowDb.toFixed(2)} dB below the best`
}

export function roundWords(round: number, rounds: number, gainDb: number | null): string {
  const parts = rounds > 1 ? [`round ${round} of ${rounds}`] : []
  if (gainDb !== null) parts.push(`the last round gained ${gainDb.toFixed(2)} dB`)
  return parts.join(', ')
}

export function zoomWords(factor: number): string {
  return factor === 1 ? '' : `zoomed out ×${factor}`
}

/** "0.2 s", "12 s", "4 min": what a glance can use. */
export function agoWords(ms: number): string {
  const seconds = Math.max(0, ms) / 1000
  if (seconds < 10) return `${seconds.toFixed(1)} s`
  return seconds < 120 ? `${Math.round(seconds)} s` : `${Math.round(seconds / 60)} min`
}

export function oldWords(ms: number): string {
  return `${agoWords(ms)} old`
}

export function watchedFor(seconds: number): string {
  return `watched for ${Math.floor(seconds)} s`
}

export function stepOf(number: number, of: number): string {
  return `${number} of ${of}`
}

export function supplyTo(volts: number): string {
  return `supply to ${hundredths(volts, 'V')}`
}

export function keyedWords(seconds: number, atMostS: number): string {
  return atMostS > 0 ? `${Math.floor(seconds)} s of ${atMostS}` : `${Math.floor(seconds)} s`
}

export function keyLeft(seconds: number): string {
  return seconds > 0 ? `${Math.ceil(seconds)} s left` : 'release the key'
}

/** Under KEY NOW: the channel that the set has to be on, and how long. */
export function keyOn(channel: number | null, atMostS: number): string {
  const on = channel === null ? [] : [`on channel ${channel}`]
  return [...on, ...(atMostS > 0 ? [`for ${atMostS} s at most`] : [])].join(', ')
}

export function restWords(seconds: number): string {
  return `${Math.ceil(seconds)} s until the next key-down`
}

export function channelWords(wanted: number | null, middle: number | null): string {
  if (wanted === null) return ''
  return middle === null || middle === wanted ? `${wanted}` : `${wanted} (middle of the bands: ${middle})`
}

export function channelSeenWords(seen: number, wanted: number): string {
  return `the set is on ${seen}, the step wants ${wanted}`
}

export function nextWords(row: string, title: string): string {
  return `next: ${row === '' ? '' : `${row}, `}${title}`
}

export function capturedWords(digits: string, unit: string, label: Captured['label']): string {
  return [`captured ${digits} ${unit}`, LABEL[label]].filter((part) => part !== '').join(', ')
}

export function largestWords(value: string): string {
  return `largest ${value}`
}

export function stopWords(number: number, of: number, words: string): string {
  return `${number} of ${of}: ${words}`
}

export function readOffWords(quantity: Quantity, instrument: string): string {
  return `${QUANTITY_WORDS[quantity]}, read off ${instrument}`
}

export function likeWords(example: string): string {
  return `like ${example}`
}

/** The answer to the question whether the point stands where it should. */
export function yesWords(text: string): string {
  return `Yes, ${text}`
}

export function recordWords(record: string, fingerprint: string): string {
  return `Record ${record}, fingerprint ${fingerprint}`
}

export function closedWords(serial: string): string {
  return serial === '' ? 'The job is closed.' : `The job of ${serial} is closed.`
}

/** "12 of 14 done", for a pass of the list of steps. */
export function doneWords(done: number, of: number): string {
  return `${done} of ${of} done`
}

export function openJobWords(captured: number, startedAt: string): string {
  return `begun ${startedAt}, ${captured === 1 ? '1 value' : `${captured} values`} captured`
}

/** Where two readings of one serial part: `place` counts from 1, `alike` for signs that look the same on a worn plate. */
export function serialDiffers(place: number, first: string, second: string, alike: boolean): string {
  const told = (sign: string) => {
    if (sign === '') return 'nothing'
    const kind = /\d/.test(sign) ? 'the digit ' : /\p{L}/u.test(sign) ? 'the letter ' : ''
    return `${kind}${sign === ' ' ? 'a space' : sign}`
  }
  const look = alike ? ', which look alike' : ''
  return `The two differ at place ${place}: ${told(first)} in the first, ${told(second)} in the second${look}. Look at the set again.`
}

/** Two decimals with a unit; nothing is ever "-0.00". */
export function hundredths(value: number, unit: string): string {
  const text = Math.abs(value).toFixed(2)
  return `${value < 0 && Number(text) !== 0 ? '−' : ''}${text} ${unit}`
}

/** Two decimals and a sign that is a minus, not a hyphen. */
export function signed(db: number): string {
  return signedDigits(db, 2)
}

export function signedDigits(value: number, decimals: number): string {
  const text = Math.abs(value).toFixed(decimals)
  if (Number(text) === 0) return text
  return `${value < 0 ? '−' : '+'}${text}`
}

/** The time of day of an ISO time, as the clock on the wall of this device has it; anything else as it is. */
export function timeWords(at: string): string {
  return isIsoTime(at) ? new Date(at).toLocaleTimeString('en-GB') : at
}

/** The day as well: "2026-11-25 14:02". */
export function dayWords(at: string): string {
  return isIsoTime(at) ? new Date(at).toLocaleString('sv-SE').slice(0, 16) : at
}

function isIsoTime(at: string): boolean {
  return /^\d{4}-\d\d-\d\dT/.test(at)
}

function trimmed(db: number): string {
  return String(Number(db.toFixed(3)))
}
