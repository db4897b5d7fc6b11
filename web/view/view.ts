import type { LiveFrame, LiveState, PlaceOnBench } from '../../src/schema/messages/shown.ts'
import { USUAL_PX_PER_MM } from '../measure/arc-size.ts'
import type { Zoom } from '../measure/scale.ts'
import { quantityWords } from '../words/quantities.ts'
import { joined, text } from '../words/text.ts'
import * as words from '../words/words.ts'
import { type FinishedView, finishedOf } from './view-finished.ts'
import { doubtOf, type Fill, type GaugeView, gaugeOf } from './view-gauge.ts'
import { capturedHere, isRefused, type NumberView, numberOf, numberView } from './view-number.ts'
import { type SettingListView, settingListOf } from './view-setting-list.ts'
import { type CallView, callOf, type SheetView, sheetOf, stopOf } from './view-sheets.ts'
import { type Fact, type FuseView, factsOf, fuseOf } from './view-strip.ts'
import { type TypingView, typingOf } from './view-typing.ts'

/** The state field round the screen, for the corner of the eye. */
export type Hatch = 'below' | 'above' | 'in' | 'old' | 'none' | 'stop'

/** What fills the sheet: the form of the first screen, a step to read, the gauge, one huge call, the list of settings, or the tables at the end. */
export type Screen = 'idle' | 'step' | 'gauge' | 'call' | 'settings' | 'finished'

/** Requests that one press can make; the others come from forms. */
export type ButtonRequest =
  | 'ready'
  | 'confirm'
  | 'capture'
  | 'next'
  | 'again'
  | 'keep'
  | 'go on'
  | 'steer'
  | 'hand over'
  | 'close job'

export interface ButtonView {
  readonly request: ButtonRequest
  readonly words: string
}

/** Everything that is drawn, as plain data: drawing decides nothing. */
export interface View {
  readonly screen: Screen
  readonly state: LiveState
  readonly hatch: Hatch
  /** First climb of a peak: how far the frame has filled, 0 to 1; else null. */
  readonly rise: number | null
  readonly fuse: FuseView | null
  readonly head: {
    readonly label: string
    readonly where: string
    readonly title: string
    /** "2 of 6: 600 Hz", where a step repeats; else "". */
    readonly stop: string
    readonly tick: boolean
  }
  readonly number: NumberView | null
  /** A field in the place of the number, where a person reads the meter. */
  readonly typing: TypingView | null
  readonly keyed: boolean
  /** Small, beside the number: the reading itself on a peak, other quantities of the step. */
  readonly beside: readonly string[]
  readonly gauge: GaugeView | null
  readonly guide: { readonly words: string; readonly second: string; readonly loud: boolean }
  readonly call: CallView | null
  readonly sheet: SheetView | null
  readonly settings: SettingListView | null
  readonly finished: FinishedView | null
  readonly strip: readonly Fact[]
  readonly banner: string
  readonly main: ButtonView | null
  readonly more: readonly ButtonView[]
  /** The list of steps can be opened (a job), or the watch can be changed; on a page that only watches, what is about its own screen. */
  readonly aside: 'steps' | 'watch' | 'device' | ''
  /** One line of news that needs no action, or "". */
  readonly notice: string
  /** For a screen reader, when it changes. */
  readonly status: string
}

/** Facts of this page that a view needs beside the frame. */
export interface PageFacts {
  readonly steering: 'you' | 'another' | 'nobody'
  /** A STOP of this page was not delivered. */
  readonly stopOwed: boolean
  /** A wish to steer waits for an answer: mine, or another page's if this one steers. */
  readonly asked: boolean
  readonly connected: boolean
  readonly zoomBefore: Zoom
  readonly gaugePx: number
  /** CSS px in a millimetre of this screen. */
  readonly pxPerMm: number
  /** The number as it is held for the eye; null: show the frame's own. */
  readonly held: { readonly text: string; readonly dimFrom: number } | null
  /** Who is on the bench for what. */
  readonly places: readonly PlaceOnBench[]
}

/** A page that steers, with the service in reach and an axis 1000 px wide. */
export const STEERING: PageFacts = {
  steering: 'you',
  asked: false,
  connected: true,
  zoomBefore: 0,
  gaugePx: 1000,
  pxPerMm: USUAL_PX_PER_MM,
  held: null,
  places: [],
  stopOwed: false,
}

interface Look {
  readonly screen: Screen
  readonly hatch: Hatch | 'by e' | 'by verdict'
  readonly fuzzy?: true
  /** Readings are wanted here, so one that is too old takes over the screen. */
  readonly live?: true
}

/** How each state is shown. */
const LOOKS: Readonly<Record<LiveState, Look>> = {
  idle: { screen: 'idle', hatch: 'none' },
  'read step': { screen: 'step', hatch: 'none' },
  'supply moving': { screen: 'call', hatch: 'none' },
  action: { screen: 'call', hatch: 'none' },
  'key now': { screen: 'call', hatch: 'none' },
  'release key': { screen: 'call', hatch: 'none' },
  rest: { screen: 'call', hatch: 'none' },
  'hold-off': { screen: 'gauge', hatch: 'none', fuzzy: true },
  settling: { screen: 'gauge', hatch: 'none', fuzzy: true, live: true },
  far: { screen: 'gauge', hatch: 'by e', live: true },
  near: { screen: 'gauge', hatch: 'by e', live: true },
  in: { screen: 'gauge', hatch: 'in', live: true },
  steady: { screen: 'gauge', hatch: 'in', live: true },
  climb: { screen: 'gauge', hatch: 'none', live: true },
  'passed over': { screen: 'gauge', hatch: 'by e', live: true },
  return: { screen: 'gauge', hatch: 'by e', live: true },
  'at best': { screen: 'gauge', hatch: 'in', live: true },
  nudge: { screen: 'gauge', hatch: 'none' },
  highest: { screen: 'gauge', hatch: 'none', live: true },
  warming: { screen: 'call', hatch: 'none' },
  'type in': { screen: 'gauge', hatch: 'none' },
  settings: { screen: 'settings', hatch: 'none' },
  question: { screen: 'call', hatch: 'none' },
  captured: { screen: 'gauge', hatch: 'by verdict' },
  'wrong channel': { screen: 'call', hatch: 'none' },
  'no effect': { screen: 'call', hatch: 'none' },
  'cannot reach': { screen: 'call', hatch: 'none' },
  'over range': { screen: 'gauge', hatch: 'none' },
  old: { screen: 'gauge', hatch: 'old' },
  'link lost': { screen: 'gauge', hatch: 'old' },
  paused: { screen: 'call', hatch: 'none' },
  stopped: { screen: 'call', hatch: 'stop' },
  finished: { screen: 'finished', hatch: 'none' },
}

/**
 * What the page shows for a frame at a moment of the service's clock (ms). A reading that has become too old since the
 * frame was made, or a service out of reach, is shown as old whatever the frame says.
 */
export function viewOf(frame: LiveFrame, nowMs: number, page: PageFacts = STEERING): View {
  const ageMs = frame.reading === null ? 0 : Math.max(0, nowMs - frame.reading.arrivedMs)
  const state = stateNow(frame, ageMs, page)
  const look = LOOKS[state]
  const old = look.hatch === 'old'
  const owed = page.stopOwed
  const hatch = owed ? 'stop' : hatchOf(frame, look)
  const screen = owed ? 'call' : state === 'idle' && page.steering !== 'you' ? 'call' : look.screen
  return {
    screen,
    state,
    hatch,
    rise: state === 'climb' && hatch === 'none' ? riseOf(frame) : null,
    fuse: fuseOf(frame),
    head: headOf(frame, state),
    number: screen === 'gauge' ? numberNow(frame, state, { old, fuzzy: look.fuzzy === true, ageMs }, page) : null,
    typing: page.connected && page.steering === 'you' ? typingOf(frame) : null,
    keyed: frame.key.keyed,
    beside: screen === 'gauge' ? besideOf(frame) : [],
    gauge: screen === 'gauge' ? gaugeOf(frame, fillOf(hatch, frame, look), page) : null,
    guide: guideOf(frame, state, page),
    call: screen !== 'call' ? null : owed ? STOP_OWED : state === 'idle' ? waitingCall(page) : callOf(frame, state),
    sheet: screen === 'step' && frame.step !== null ? sheetOf(frame, frame.step, page.places) : null,
    settings: screen === 'settings' ? settingListOf(frame, page.connected && page.steering === 'you') : null,
    finished: screen === 'finished' ? finishedOf(frame) : null,
    strip: factsOf(frame, ageMs, old),
    banner: frame.bench.simulated ? words.SIMULATED : '',
    ...buttonsOf(frame, state, page),
    notice: screen === 'call' && state === 'idle' ? '' : noticeOf(page),
    status: owed ? words.STOP_TOLD : statusOf(frame, state),
  }
}

const STOP_OWED: CallView = { over: '', ...words.STOP_NOT_DELIVERED, size: 'large', third: '' }

/** Screens that show nothing live stand though the service is gone. */
const STAYS: readonly LiveState[] = ['idle', 'finished', 'settings']

function stateNow(frame: LiveFrame, ageMs: number, page: PageFacts): LiveState {
  const asked = LOOKS[frame.state]
  if (!page.connected) return STAYS.includes(frame.state) ? frame.state : 'link lost'
  const tooOld = frame.reading !== null && ageMs > frame.reading.oldAfterMs
  return asked.live === true && tooOld ? 'old' : frame.state
}

function hatchOf(frame: LiveFrame, look: Look): Hatch {
  if (look.hatch === 'by verdict') {
    const kept = capturedHere(frame)
    const verdict = kept?.verdict
    if (verdict === 'low') return 'below'
    if (verdict === 'high') return 'above'
    return verdict === 'unread' || (kept && isRefused(kept)) ? 'none' : 'in'
  }
  if (look.hatch !== 'by e') return frame.state === 'climb' && frame.guide.way === 'back' ? 'below' : look.hatch
  if (frame.peg === null) return 'none'
  return frame.peg.e < 0 ? 'below' : 'above'
}

function fillOf(hatch: Hatch, frame: LiveFrame, look: Look): Fill {
  if (hatch === 'below' || hatch === 'above' || hatch === 'in' || hatch === 'old') return hatch
  // The last value that was typed stays in the picture, so that the next turn has a direction.
  if (frame.state === 'type in' && frame.peg !== null)
    return frame.peg.e < -1 ? 'below' : frame.peg.e > 1 ? 'above' : 'in'
  return (frame.state === 'climb' || frame.state === 'highest') && look.fuzzy !== true ? 'open' : 'fuzzy'
}

/** Half full at 2 dB; nobody knows the top yet, so it is never reached. */
function riseOf(frame: LiveFrame): number {
  const db = Math.max(0, frame.peak?.fromStartDb ?? 0)
  return db / (db + 2)
}

function headOf(frame: LiveFrame, state: LiveState): View['head'] {
  const step = frame.step
  const kept = capturedHere(frame)
  const tick = state === 'captured' && !(kept && isRefused(kept))
  if (step === null) {
    const quantity = frame.reading === null ? '' : quantityWords(frame.reading.quantity)
    return { label: quantity, where: '', title: frame.reading?.instrument ?? '', stop: '', tick }
  }
  const label = step.adjuster === '' ? words.NO_ADJUSTER[step.technique] : step.adjuster
  const place = step.adjuster === '' ? step.title : step.adjusterWhere
  return { label, where: place, title: step.targetWords, stop: stopOf(step), tick }
}

interface NumberFacts {
  readonly old: boolean
  readonly fuzzy: boolean
  readonly ageMs: number
}

function numberNow(frame: LiveFrame, state: LiveState, facts: NumberFacts, page: PageFacts): NumberView {
  const own = numberOf(frame)
  const held = own.word || state === 'captured' ? null : page.held
  const source = held === null ? own : { ...own, text: held.text }
  const dimFrom = held === null ? source.text.length : held.dimFrom
  return numberView(source, { struck: facts.old, faint: facts.fuzzy, ageMs: facts.ageMs, dimFrom })
}

function besideOf(frame: LiveFrame): readonly string[] {
  const own = numberOf(frame)
  const main = frame.reading
  const rows = frame.beside.map((other) => (other.value === null ? other.word : `${other.digits} ${other.unit}`))
  const kept = frame.state === 'captured' ? capturedHere(frame) : undefined
  if (kept !== undefined && words.LABEL[kept.label] !== '') return [words.LABEL[kept.label], ...rows]
  const isDb = frame.peak !== null && main?.value != null && own.text !== main.digits
  return isDb ? [`${main.digits} ${main.unit}`, ...rows] : rows
}

function guideOf(frame: LiveFrame, state: LiveState, page: PageFacts): View['guide'] {
  if (!page.connected) return { words: words.DO_NOT_TURN, second: words.NO_SERVICE, loud: false }
  const keyLeft = fuseOf(frame)?.words ?? ''
  const own = state === frame.state ? frame.guide.words : ''
  const said = own === '' ? words.GUIDE[state] : own
  return { words: said, second: keyLeft || secondOf(frame, state), loud: keyLeft !== '' }
}

/** The smaller line: why, how long, how near; the first that has something to say. */
function secondOf(frame: LiveFrame, state: LiveState): string {
  if (frame.because !== '') return frame.because
  if (state === 'hold-off' || state === 'highest' || state === 'type in') return ''
  if (state === 'captured') return nextStep(frame)
  if (state === 'settling') return words.watchedFor(frame.settle.seconds)
  const { peak, slot } = frame
  if (peak !== null && slot?.kind === 'peak') {
    // on the way back the guidance itself says how far it is
    const near = state === 'climb' || state === 'return' ? '' : words.belowWords(peak.belowDb, slot.windowDb)
    return joined('joined.comma', [near, words.roundWords(peak.round, peak.rounds, peak.gainDb)])
  }
  const doubt = doubtOf(frame)
  if (doubt !== '' || state !== 'in' || frame.guide.hands !== 'off') return doubt || words.HANDS[frame.guide.hands]
  return frame.settle.word
}

/** The step that comes after the one in hand. */
function nextStep(frame: LiveFrame): string {
  const { step } = frame
  const at = frame.steps.findIndex((line) => line.step === step?.id && line.pass === step.pass)
  const next = frame.steps.slice(at + 1).find(({ state }) => state === 'to do')
  return next === undefined ? '' : words.nextWords(next.row, next.title)
}

/** The one thing to do next, most wanted first; all others stay in reach as small buttons. */
const MAIN_FIRST = [
  'ready',
  'confirm',
  'go on',
  'capture',
  'next',
  'close job',
] as const satisfies readonly ButtonRequest[]

/** After a capture on, not back; and a foot that comes down from habit never keeps a value that is asked about. */
const FIRST_IN: Readonly<Partial<Record<LiveState, readonly ButtonRequest[]>>> = {
  captured: ['next', ...MAIN_FIRST],
  question: ['again'],
}

const CAPTURES: readonly LiveState[] = ['in', 'steady', 'at best', 'settling', 'highest']

/** A foot on the switch must not capture while the hand is still on its way, nor close a job that is not finished. */
function fitsNow(request: ButtonRequest, state: LiveState): boolean {
  if (request === 'capture') return CAPTURES.includes(state)
  return request !== 'close job' || state === 'finished'
}

function buttonsOf(frame: LiveFrame, state: LiveState, page: PageFacts): Pick<View, 'main' | 'more' | 'aside'> {
  if (page.steering !== 'you') {
    const steer = { request: 'steer', words: words.ASK.steer } as const
    return { main: null, more: page.asked || !page.connected ? [] : [steer], aside: 'device' }
  }
  if (!page.connected) return { main: null, more: [], aside: '' }
  const order = FIRST_IN[state] ?? MAIN_FIRST
  const first = order.find((request) => frame.offers.includes(request) && fitsNow(request, state))
  const main = first === undefined ? null : { request: first, words: mainWords(first, state, frame) }
  const more: ButtonView[] = []
  if (first === 'ready' && frame.offers.includes('confirm'))
    more.push({ request: 'confirm', words: mainWords('confirm', state, frame) })
  if (first === 'again' && frame.offers.includes('keep')) more.push({ request: 'keep', words: words.ASK.keep })
  if (first === 'next' && frame.offers.includes('again')) more.push({ request: 'again', words: words.ASK.again })
  if (page.asked) more.push({ request: 'hand over', words: words.ASK['hand over'] })
  const aside = frame.mode === 'job' ? 'steps' : frame.mode === 'watch' ? 'watch' : ''
  return { main, more, aside }
}

function mainWords(request: ButtonRequest, state: LiveState, frame: LiveFrame): string {
  if (request === 'again' && state === 'question') return words.READ_AGAIN
  if (request === 'confirm' && frame.step?.technique === 'wait') return words.WARM_ALREADY
  const stuck = state === 'no effect' || state === 'cannot reach' || state === 'wrong channel'
  return request === 'next' && stuck ? words.NOTE_AND_GO_ON : words.ASK[request]
}

function noticeOf(page: PageFacts): string {
  if (!page.connected) return words.NO_SERVICE
  if (page.steering === 'you') return page.asked ? words.STEER_WANTED : ''
  return page.asked ? text('joined.colon', { what: steererOf(page), told: words.ASKED_TO_STEER }) : steererOf(page)
}

function steererOf(page: PageFacts): string {
  return page.steering === 'another' ? words.ANOTHER_STEERS : words.NOBODY_STEERS
}

/** A page that does not steer, while nothing is watched. */
function waitingCall(page: PageFacts): CallView {
  const second = page.asked ? words.ASKED_TO_STEER : ''
  return { over: '', big: steererOf(page), size: 'large', second, third: '' }
}

/** Far, near and in change many times a second at an edge: only what is worth hearing is said. */
function statusOf(frame: LiveFrame, state: LiveState): string {
  switch (state) {
    case 'far':
    case 'near':
    case 'climb':
    case 'return':
    case 'hold-off':
    case 'settling':
    case 'highest':
    case 'warming':
    case 'idle':
      return ''
    case 'captured': {
      const kept = capturedHere(frame)
      return kept === undefined ? words.GUIDE.captured : words.capturedWords(kept.digits, kept.unit, kept.label)
    }
    case 'old':
    case 'link lost':
      return joined('joined.stop', [words.DO_NOT_TURN, frame.because])
    case 'question':
    case 'stopped':
      return joined('joined.stop', [frame.guide.words, frame.because])
    default:
      return joined('joined.stop', [words.CALL[state] ?? words.GUIDE[state], frame.because])
  }
}
