import type { Quantity } from '../../src/quantity/quantity.ts'
import type { Captured, LiveState, Pass, RequestKind, StepLine, StepView } from '../../src/schema/messages/shown.ts'
import { agoWords, hundredths } from './figures.ts'
import { QUANTITY } from './quantities.ts'
import { joined, text } from './text.ts'

/**
 * Words of the work screen; forms, drawings, hands and size have files of their own. All of them stand in the dictionary of the language
 * that is spoken; readings and guidance come in the frame.
 */

/** What the guidance line says where the frame brings no words of its own. */
export const GUIDE: Readonly<Record<LiveState, string>> = {
  idle: '',
  'read step': '',
  'supply moving': text('guide.supply-moving'),
  action: '',
  'key now': text('guide.key-now'),
  'release key': text('guide.release-key'),
  rest: text('guide.rest'),
  'hold-off': text('guide.hold-off'),
  settling: text('guide.settling'),
  far: text('guide.far'),
  near: text('guide.near'),
  in: text('guide.in'),
  steady: text('guide.steady'),
  climb: text('guide.climb'),
  'passed over': text('guide.passed-over'),
  return: text('guide.return'),
  'at best': text('guide.at-best'),
  nudge: text('guide.nudge'),
  highest: text('guide.highest'),
  warming: text('guide.warming'),
  'type in': text('guide.type-in'),
  settings: text('guide.settings'),
  question: text('guide.question'),
  captured: text('guide.captured'),
  'wrong channel': text('guide.wrong-channel'),
  'no effect': text('guide.no-effect'),
  'cannot reach': text('guide.cannot-reach'),
  'over range': text('guide.over-range'),
  old: text('guide.do-not-turn'),
  'link lost': text('guide.do-not-turn'),
  paused: text('guide.paused'),
  stopped: text('guide.stopped'),
  finished: text('guide.finished'),
}

/** The huge words of states in which one thing is to be done or known. */
export const CALL: Readonly<Partial<Record<LiveState, string>>> = {
  'key now': text('call.key-now'),
  'release key': text('call.release-key'),
  rest: text('call.rest'),
  'wrong channel': text('guide.wrong-channel'),
  'no effect': text('guide.no-effect'),
  'cannot reach': text('guide.cannot-reach'),
  paused: text('guide.paused'),
}

export const DO_NOT_TURN = text('guide.do-not-turn')
export const NO_SERVICE = text('service.no-word')
/** Large, until STOP has come through. */
export const STOP_NOT_DELIVERED = { big: text('stop.not-delivered'), second: text('stop.by-hand') } as const
/** Both in a line. */
export const STOP_TOLD = joined('joined.stop', [STOP_NOT_DELIVERED.big, STOP_NOT_DELIVERED.second])
/** What the service said to a STOP that came late. */
export function stopDeliveredWords(answer: string): string {
  return text('stop.delivered', { answer })
}
export const NO_NUMBER = text('number.none')
export const METER_TOO_COARSE = text('doubt.too-coarse')
export const AT_THE_EDGE = text('doubt.at-the-edge')
export const SIMULATED = text('bench.simulated')
export const ANOTHER_STEERS = text('steering.another')
export const NOBODY_STEERS = text('steering.nobody')
export const START_MARK = text('gauge.start')
export const NOTHING_CAPTURED = text('captured.nothing')
/** Said beside the guidance where it does not speak of the hands itself. */
export const HANDS = { on: '', off: text('hands.off-the-tool'), '': '' } as const
/** Stands where the adjuster's label stands in a step that turns nothing. */
export const NO_ADJUSTER = {
  set: text('no-adjuster.supply'),
  peak: text('no-adjuster.check'),
  dip: text('no-adjuster.check'),
  check: text('no-adjuster.check'),
  highest: text('no-adjuster.highest'),
  wait: text('no-adjuster.wait'),
  do: text('no-adjuster.to-do'),
  settings: text('no-adjuster.settings'),
} as const
export const TECHNIQUE = {
  set: text('technique.set-to'),
  peak: text('technique.peak'),
  dip: text('technique.dip'),
  check: text('technique.check'),
  highest: text('technique.highest'),
  wait: text('technique.wait'),
  do: text('technique.to-do'),
  settings: text('technique.settings'),
} as const

/** Words on the buttons. STOP is not among them: it is always there. */
export const ASK = {
  ready: text('ask.ready'),
  confirm: text('ask.done'),
  'go on': text('ask.go-on'),
  capture: text('ask.capture'),
  next: text('ask.next'),
  again: text('ask.once-more'),
  keep: text('ask.keep'),
  steer: text('ask.steer'),
  'hand over': text('ask.hand-over'),
  'close job': text('ask.close-job'),
} as const satisfies Partial<Record<RequestKind, string>>
/** On a simulated bench a wait for warmth may be cut short. */
export const WARM_ALREADY = text('ask.warm-already')
/** The answer to a question about a value that nobody should be quick with is the other one. */
export const READ_AGAIN = text('ask.read-again')
export const NOTE_AND_GO_ON = text('ask.note-and-go-on')
export const ASKED_TO_STEER = text('steering.asked')
export const STEER_WANTED = text('steering.wanted')
export const STOP = text('stop.button')
export const STOP_BELOW = text('stop.below')
export const OPEN_STEPS = text('open.steps')
export const OPEN_WATCH = text('open.watch')
export const OPEN_DEVICE = text('open.device')
/** Something odd happened: the service keeps what led to it. */
export const KEEP_COURSE = text('open.keep-course')

export const STRIP = {
  watching: text('strip.watching'),
  set: text('strip.set'),
  transmit: text('strip.transmit'),
  receive: text('strip.receive'),
  plug: text('strip.plug'),
  current: text('strip.current'),
  reading: text('strip.reading'),
  bench: text('strip.bench'),
  notRead: text('strip.not-read'),
  off: text('strip.off'),
  none: text('strip.none-yet'),
} as const

export const SHEET = {
  target: text('sheet.target'),
  supplyUntouched: text('sheet.supply-untouched'),
  drawing: text('sheet.drawing'),
  words: text('sheet.words'),
} as const

/** What a row of a step to be read is about: its places, and what the set has to be doing. */
export const SHEET_ROW = {
  tool: text('sheet.tool'),
  prod: text('sheet.prod'),
  common: text('sheet.common'),
  side: text('sheet.side'),
  set: text('sheet.set'),
  microphone: text('sheet.microphone'),
  reading: text('sheet.reading'),
  channel: text('sheet.channel'),
  mode: text('sheet.mode'),
  supply: text('sheet.supply'),
  tone: text('sheet.tone'),
  before: text('sheet.before'),
} as const

export const TRANSMIT: Readonly<Record<StepView['transmit'], string>> = {
  transmit: text('sheet.transmit'),
  receive: text('sheet.receive'),
}

/** The three passes of a job, as headings. */
export const PASS: Readonly<Record<Pass, string>> = {
  found: text('pass.found'),
  work: text('pass.work'),
  left: text('pass.left'),
}

/** How a line of the step list says where it stands. */
export const STEP_STATE: Readonly<Record<StepLine['state'], string>> = {
  'to do': text('step.to-do'),
  open: text('step.open'),
  done: text('step.done'),
  'out of band': text('step.out-of-band'),
  'left out': text('step.left-out'),
}

export const VERDICT: Readonly<Record<Captured['verdict'], string>> = {
  inside: text('verdict.inside'),
  low: text('verdict.low'),
  high: text('verdict.high'),
  unread: text('verdict.unread'),
}

/** How a value was come by, in the table. */
export const HOW: Readonly<Record<Captured['label'], string>> = {
  settled: text('how.settled'),
  peaked: text('how.peaked'),
  drifting: text('how.drifting'),
  short: text('how.short'),
  highest: text('how.highest'),
  typed: text('how.typed'),
}

/** How a value was come by, where that is worth saying beside the number. */
export const LABEL: Readonly<Record<Captured['label'], string>> = {
  ...HOW,
  settled: '',
  peaked: '',
  highest: text('how.largest-seen'),
}

export const SETTINGS = {
  sound: text('settings.sound'),
  light: text('settings.light'),
  dark: text('settings.dark'),
  levels: {
    all: text('settings.all'),
    guide: text('settings.guide'),
    events: text('settings.events'),
    none: text('settings.none'),
  },
  held: text('settings.held'),
  interrupted: text('settings.interrupted'),
  microphone: text('settings.microphone'),
  headphonesYes: text('settings.headphones-yes'),
  headphonesNo: text('settings.headphones-no'),
  silentForMicrophone: text('settings.silent-for-microphone'),
  microphoneOpen: text('settings.microphone-open'),
  handbook: text('settings.handbook'),
  maySleep: text('settings.may-sleep'),
} as const

export const RELOAD = text('service.newer')
export const TOKEN_MISSING = text('service.not-served')

/** Beside what is to be done about the band. */
export function bandsAsked(bands: readonly string[]): string {
  return bands.length === 0 ? '' : text('bands.asked', { bands: joined('joined.comma', bands) })
}

/** How far outside the band, counted in whole widths of the band: "4 bands too high"; "" inside. */
export function distanceWords(e: number): string {
  const bands = (Math.abs(e) - 1) / 2
  if (bands <= 0) return ''
  return text(e > 0 ? 'distance.high' : 'distance.low', { amount: bandWords(bands) })
}

function bandWords(bands: number): string {
  if (bands < 0.12) return text('distance.hair')
  if (bands < 0.38) return text('distance.quarter')
  if (bands < 0.75) return text('distance.half')
  if (bands < 1.5) return text('distance.one')
  return bands < 20.5 ? text('distance.bands', { bands: Math.round(bands) }) : text('distance.far')
}

/** "0.23 dB below the best", or "within 0.05 dB". */
export function belowWords(belowDb: number, windowDb: number): string {
  if (belowDb <= windowDb) return text('peak.within', { db: `${Number(windowDb.toFixed(3))} dB` })
  return text('peak.below', { db: `${belowDb.toFixed(2)} dB` })
}

export function roundWords(round: number, rounds: number, gainDb: number | null): string {
  return joined('joined.comma', [
    rounds > 1 ? text('peak.round', { round, rounds }) : '',
    gainDb === null ? '' : text('peak.gained', { db: `${gainDb.toFixed(2)} dB` }),
  ])
}

export function zoomWords(factor: number): string {
  return factor === 1 ? '' : text('gauge.zoom', { factor })
}

export function oldWords(ms: number): string {
  return text('number.old', { age: agoWords(ms) })
}

export function watchedFor(seconds: number): string {
  return text('settling.watched-for', { time: `${Math.floor(seconds)} s` })
}

export function stepRow(row: string): string {
  return text('strip.step-row', { row })
}

export function stepOf(number: number, of: number): string {
  return text('strip.step-of', { number, of })
}

export function supplyTo(volts: number): string {
  return text('supply.to', { volts: hundredths(volts, 'V') })
}

export function keyedWords(seconds: number, atMostS: number): string {
  return atMostS > 0
    ? text('key.seconds-of', { seconds: Math.floor(seconds), most: atMostS })
    : `${Math.floor(seconds)} s`
}

export function keyLeft(seconds: number): string {
  return seconds > 0 ? text('key.left', { time: `${Math.ceil(seconds)} s` }) : text('key.release')
}

/** Under KEY NOW: the channel that the set has to be on, and how long. */
export function keyOn(channel: number | null, atMostS: number): string {
  return joined('joined.comma', [
    channel === null ? '' : text('key.on-channel', { channel }),
    atMostS > 0 ? text('key.at-most', { time: `${atMostS} s` }) : '',
  ])
}

export function restWords(seconds: number): string {
  return text('rest.left', { time: `${Math.ceil(seconds)} s` })
}

export function channelWords(wanted: number | null, middle: number | null): string {
  if (wanted === null) return ''
  return middle === null || middle === wanted
    ? String(wanted)
    : text('channel.with-middle', { channel: wanted, middle })
}

export function channelSeenWords(seen: number, wanted: number): string {
  return text('channel.seen', { seen, wanted })
}

export function nextWords(row: string, title: string): string {
  return row === '' ? text('next.title', { title }) : text('next.row', { row, title })
}

export function capturedWords(digits: string, unit: string, label: Captured['label']): string {
  return joined('joined.comma', [text('captured.value', { value: `${digits} ${unit}` }), LABEL[label]])
}

export function largestWords(value: string): string {
  return text('gauge.largest', { value })
}

export function stopWords(number: number, of: number, what: string): string {
  return text('sheet.point-of', { number, of, what })
}

export function readOffWords(quantity: Quantity, instrument: string): string {
  return text('typing.read-off', { quantity: QUANTITY[quantity], meter: instrument })
}

export function likeWords(example: string): string {
  return text('typing.like', { example })
}

/** The answer to the question whether the point stands where it should. */
export function yesWords(value: string): string {
  return text('typing.yes', { value })
}

export function recordWords(record: string, fingerprint: string): string {
  return text('record.told', { record, fingerprint })
}

export function closedWords(serial: string): string {
  return serial === '' ? text('job.closed') : text('job.closed-of', { serial })
}

/** "12 of 14 done", for a pass of the list of steps. */
export function doneWords(done: number, of: number): string {
  return text('job.done', { done, of })
}

export function openJobWords(captured: number, started: string): string {
  return captured === 1 ? text('job.begun-one', { started }) : text('job.begun', { started, values: captured })
}

/** A row that was left out, with its pass where that is not the work itself, and why. */
export function leftOutWords(row: string, title: string, pass: Pass, why: string): string {
  const places = { row, title, why }
  return pass === 'work' ? text('left-out.row', places) : text('left-out.row-in-pass', { ...places, pass: PASS[pass] })
}

/** Where two readings of one serial part: `place` counts from 1, `alike` for signs that look the same on a worn plate. */
export function serialDiffers(place: number, first: string, second: string, alike: boolean): string {
  const told = (sign: string) => {
    if (sign === '') return text('serial.nothing')
    if (/\d/.test(sign)) return text('serial.digit', { sign })
    if (/\p{L}/u.test(sign)) return text('serial.letter', { sign })
    return sign === ' ' ? text('serial.space') : sign
  }
  return text(alike ? 'serial.differ-alike' : 'serial.differ', { place, first: told(first), second: told(second) })
}
