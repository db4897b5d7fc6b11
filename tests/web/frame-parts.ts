import type {
  Captured,
  KeyView,
  LiveFrame,
  PeakView,
  ReadingView,
  SettingView,
  SlotView,
  StepLine,
  StepView,
  SupplyView,
} from '../../src/schema/messages/shown.ts'
import { placesIn, toolIn } from '../kit/job/places.ts'

/** The moment at which every fixture was made, ms of the service's clock. */
export const MADE_MS = 100_000

export type Parts<T> = { readonly [K in keyof T]?: T[K] }

export function reading(parts: Parts<ReadingView> = {}): ReadingView {
  return {
    quantity: 'RF power',
    value: 4.31,
    word: '',
    digits: '4.31',
    unit: 'W',
    arrivedMs: MADE_MS - 100,
    ageMs: 100,
    oldAfterMs: 900,
    instrument: 'power',
    ...parts,
  }
}

export const POWER_BAND: Extract<SlotView, { kind: 'band' }> = {
  kind: 'band',
  lowLabel: '3.60',
  highLabel: '4.00',
  aimLabel: '3.85',
  aimLowE: -0.2,
  aimHighE: 0.33,
  wallE: null,
  wallLabel: '',
  openLow: false,
  openHigh: false,
  low: 3.6,
  high: 4,
}

export const PEAK_SLOT: Extract<SlotView, { kind: 'peak' }> = {
  kind: 'peak',
  dip: false,
  windowDb: 0.05,
  passOverDb: 0.2,
  bestLabel: '5.71 W',
}

export function peak(parts: Parts<PeakView> = {}): PeakView {
  return {
    fromStartDb: 1.24,
    belowDb: 0,
    sigmaDb: 0.02,
    proved: true,
    round: 1,
    rounds: 4,
    gainDb: null,
    adjuster: 'DK',
    ...parts,
  }
}

export function step(parts: Parts<StepView> = {}): StepView {
  return {
    id: 'power',
    row: 'A12',
    number: 12,
    of: 21,
    title: 'Transmit power',
    technique: 'set',
    pass: 'work',
    stop: null,
    sounds: 'on',
    adjuster: 'PW',
    adjusterWhere: 'power preset, by the heatsink',
    tool: toolIn({ kind: 'non-metal blade', words: 'flat, non-metal' }),
    where: placesIn({ set: 'upright in the holder', microphone: 'unplugged' }),
    reads: [
      { quantity: 'RF power', instrument: 'power' },
      { quantity: 'DC current', instrument: 'supply' },
    ],
    floating: true,
    targetWords: '3.60 .. 4.00 W, aim 3.85 W',
    transmit: 'transmit',
    mode: 'FM, no tone',
    channelWanted: 20,
    channelMiddle: 19,
    channelSeen: 20,
    tone: '',
    before: '',
    asksForBands: false,
    cautionsSeen: [],
    cautions: [
      'Load on before keying.',
      'Heatsink is hot: hold the board by its edge.',
      'Never key without a load; 4 W into a bare finger burns.',
      'The chassis floats: common to ES, never to the case.',
      'Local rules and a licence decide what may be transmitted.',
    ],
    bands: ['the European forty'],
    ...parts,
  }
}

export function supply(parts: Parts<SupplyView> = {}): SupplyView {
  return {
    plugVolts: 15.6,
    terminalVolts: 15.72,
    amps: 1.31,
    output: 'on',
    resting: 'working',
    moving: false,
    wantedVolts: 15.6,
    ...parts,
  }
}

/** The set's own settings: found and for this job written, one left as it was, one not. */
export const SETTINGS_OF_THE_SET: readonly SettingView[] = [
  { name: 'band', found: 'EU', job: 'EU', left: 'EU', reason: '' },
  { name: 'key click', found: 'on', job: 'off', left: 'off', reason: '' },
  { name: 'time-out timer', found: '60 s', job: '180 s', left: '', reason: '' },
  { name: 'brightness', found: '4', job: '4', left: '', reason: '' },
  { name: 'end-of-call tone', found: 'on', job: 'off', left: '', reason: '' },
  { name: 'call channel', found: '9', job: '9', left: '', reason: '' },
]

export const RELEASED: KeyView = { keyed: false, seconds: 0, atMostS: 15, share: 0, restLeftS: 0 }

export function keyed(seconds: number, atMostS = 15): KeyView {
  return { keyed: true, seconds, atMostS, share: seconds / atMostS, restLeftS: 0 }
}

export function captured(parts: Parts<Captured> = {}): Captured {
  return {
    number: 5,
    pass: 'work',
    step: 'power',
    row: 'A12',
    title: 'Transmit power',
    quantity: 'RF power',
    at: 'channel 20',
    value: 3.85,
    digits: '3.85',
    unit: 'W',
    band: '3.60 .. 4.00 W',
    verdict: 'inside',
    label: 'settled',
    count: 14,
    mean: 3.851,
    spread: 0.012,
    windowS: 3.5,
    uncertainty: 0.17,
    answer: 'in and clear',
    limit: null,
    accepted: true,
    by: 'dwell',
    latest: true,
    ...parts,
  }
}

export const STEP_LINES: readonly StepLine[] = [
  {
    id: 'current',
    step: 'current',
    pass: 'work',
    row: 'A1',
    title: 'Current in receive',
    state: 'done',
    result: '0.30 A',
  },
  { id: 'plug', step: 'plug', pass: 'work', row: 'A2', title: 'Volts at the plug', state: 'done', result: '13.80 V' },
  {
    id: 'control',
    step: 'control',
    pass: 'work',
    row: 'A5',
    title: 'Control voltage, receive',
    state: 'done',
    result: '2.41 V',
  },
  {
    id: 'ends',
    step: 'ends',
    pass: 'work',
    row: 'A6',
    title: 'Control voltage at both ends',
    state: 'out of band',
    result: '1.34 V',
  },
  {
    id: 'reference',
    step: 'reference',
    pass: 'work',
    row: 'A8',
    title: 'Carrier frequency',
    state: 'done',
    result: '27.204 991 MHz',
  },
  {
    id: 'drive',
    step: 'drive',
    pass: 'work',
    row: 'A9 to A11',
    title: 'Exciter and output coils',
    state: 'done',
    result: '5.71 W',
  },
  { id: 'power', step: 'power', pass: 'work', row: 'A12', title: 'Transmit power', state: 'open', result: '' },
  { id: 'reserve', step: 'reserve', pass: 'work', row: 'A13', title: 'Power at 13.8 V', state: 'to do', result: '' },
  {
    id: 'carrier',
    step: 'carrier',
    pass: 'work',
    row: 'A20',
    title: 'AM carrier',
    state: 'left out',
    result: 'AM is not allowed here',
  },
]

/** The same job in its three passes. */
export const PASS_LINES: readonly StepLine[] = [
  {
    id: 'settings-found',
    step: 'settings-found',
    pass: 'found',
    row: 'A0b',
    title: 'Settings as found',
    state: 'done',
    result: '',
  },
  {
    id: 'power.found',
    step: 'power',
    pass: 'found',
    row: 'A3',
    title: 'Transmit power',
    state: 'done',
    result: '2.40 W',
  },
  ...STEP_LINES,
  { id: 'power.left', step: 'power', pass: 'left', row: 'A21', title: 'Transmit power', state: 'to do', result: '' },
]

/** A frame of a job at the set-to step for power, 4.31 W on the meter; `parts` replaces whole fields. */
export function frame(parts: Parts<LiveFrame> = {}): LiveFrame {
  return {
    kind: 'frame',
    format: 1,
    seq: 1,
    atMs: MADE_MS,
    bench: { name: 'Workshop 2', simulated: true },
    mode: 'job',
    state: 'far',
    reading: reading(),
    slot: POWER_BAND,
    peg: { e: 3.07, halfE: 0.56, ragged: 0.2, drop: 0 },
    peak: null,
    settle: { share: 0, seconds: 0, word: '' },
    guide: { words: '', way: '', hands: '' },
    because: '',
    step: step(),
    supply: supply(),
    key: RELEASED,
    events: [],
    steps: STEP_LINES,
    captured: [],
    marks: [],
    beside: [],
    settings: [],
    typing: null,
    job: null,
    offers: [],
    ...parts,
  }
}
