import type { Quantity } from '../src/quantity/quantity.ts'
import type { Captured, LiveState, RequestKind, StepLine } from '../src/schema/live-frame.ts'

/** Every word of the page stands here, so that one read shows how the page talks; readings and guidance come in the frame. */

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
  stopped: 'SUPPLY OFF',
}

export const DO_NOT_TURN = 'Do not turn'
export const NO_SERVICE = 'no word from the bench computer'
export const NO_NUMBER = 'no reading'
export const METER_TOO_COARSE = 'meter too coarse to prove this'
export const AT_THE_EDGE = 'in, but within meter doubt of the edge'
export const SIMULATED = 'SIMULATED'
export const ANOTHER_STEERS = 'Another page steers'
export const NOBODY_STEERS = 'No page steers'
export const START_MARK = 'start'
export const BEST_MARK = 'best'
export const NOTHING_CAPTURED = 'Nothing was captured.'
/** Said beside the guidance where it does not speak of the hands itself. */
export const HANDS = { on: '', off: 'hands off the tool', '': '' } as const
/** Stands where the adjuster's label stands in a step that turns nothing. */
export const CHECK = 'check'
export const SUPPLY = 'supply'
export const TECHNIQUE = { set: 'set to', peak: 'peak', dip: 'dip', check: 'check only' } as const

/** Words on the buttons. STOP is not among them: it is always there. */
export const ASK = {
  ready: 'Ready',
  confirm: 'Done',
  'go on': 'Go on',
  capture: 'Capture',
  next: 'Next',
  steer: 'Steer from here',
  'hand over': 'Hand over',
  'close job': 'Close the job',
} as const satisfies Partial<Record<RequestKind, string>>
export const NOTE_AND_GO_ON = 'Note it, go on'
export const ASKED_TO_STEER = 'asked; the other page has to agree'
export const STEER_WANTED = 'Another page wants to steer'
export const STOP = 'STOP'
export const STOP_BELOW = 'supply off'
export const OPEN_STEPS = 'Steps'
export const OPEN_WATCH = 'Change'

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
} as const

export const FORM = {
  watchTitle: 'Just watch',
  watchLead: 'Pick a reading, say what it should be, turn. Nothing is kept, and the supply stays as it is.',
  quantity: 'What',
  target: 'What it should be',
  watch: 'Watch',
  maximum: 'maximum',
  minimum: 'minimum',
  jobTitle: 'A whole set',
  jobLead: 'Step by step through its alignment sheet. What is captured is kept, earlier values too.',
  startJob: 'Start a job',
  supplyTitle: 'The supply is off',
  supplyLead: 'At the normal voltage, trip and limit of this sheet:',
  supplyOn: 'Supply on',
  procedure: 'Sheet',
  serial: 'Serial number of the set',
  serialSimulated: 'Serial number of the set (may stay empty on a simulated bench)',
  serialMissing: 'Write the serial number of the set first.',
  bands: 'Bands in use',
  bandAsk: 'only where it is allowed',
  begin: 'Begin',
  back: 'Back',
  backToGauge: 'Back to the gauge',
  nothingMeasures: 'Nothing on this bench measures yet: look at its file and cables.',
  noProcedures: 'No alignment sheet is at hand.',
  waiting: 'Waiting for the bench.',
  keysRest: 'Foot switch and keys rest while you type.',
  setPage: 'The simulated set is on its own page',
} as const

export const STEPS = {
  title: 'Steps',
  back: 'Back to the gauge',
  closeJob: 'Close the job',
  open: 'Open',
  openAgain: 'Open again',
  leaveOut: 'Leave out',
  reason: 'Reason for leaving it out',
  reasonShort: 'Say why, in at least three letters.',
  keep: 'Keep it in',
} as const

/** How a line of the step list says where it stands. */
export const STEP_STATE: Readonly<Record<StepLine['state'], string>> = {
  'to do': 'to do',
  open: 'now',
  done: 'done',
  'out of band': 'out of band',
  'left out': 'left out',
}

export const TABLE = {
  title: 'What was captured',
  row: 'sheet',
  what: 'step',
  at: 'at',
  value: 'value',
  band: 'band',
  verdict: 'verdict',
  how: 'how',
  earlier: 'earlier reading, kept',
} as const

export const VERDICT: Readonly<Record<Captured['verdict'], string>> = {
  inside: 'inside',
  low: 'too low',
  high: 'too high',
  unread: 'not read',
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

export function keyBudget(atMostS: number): string {
  return atMostS > 0 ? `for ${atMostS} s at most` : ''
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

export function capturedWords(digits: string, unit: string): string {
  return `captured ${digits} ${unit}`
}

export function fromStartWords(db: number): string {
  return `${signed(db)} dB from the start`
}

/** Two decimals with a unit; nothing is ever "-0.00". */
export function hundredths(value: number, unit: string): string {
  const text = Math.abs(value).toFixed(2)
  return `${value < 0 && Number(text) !== 0 ? '−' : ''}${text} ${unit}`
}

/** Two decimals and a sign that is a minus, not a hyphen. */
export function signed(db: number): string {
  const text = Math.abs(db).toFixed(2)
  if (text === '0.00') return text
  return `${db < 0 ? '−' : '+'}${text}`
}

function trimmed(db: number): string {
  return String(Number(db.toFixed(3)))
}
