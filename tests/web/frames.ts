import type {
  Captured,
  KeyView,
  LiveFrame,
  LiveState,
  PeakView,
  ReadingView,
  SlotView,
  StepLine,
  StepView,
  SupplyView,
} from '../../src/schema/live-frame.ts'

/** The moment at which every fixture was made, ms of the service's clock. */
export const MADE_MS = 100_000

type Parts<T> = { readonly [K in keyof T]?: T[K] }

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
    adjuster: 'PW',
    adjusterWhere: 'power preset, by the heatsink',
    tool: 'flat, non-metal',
    where: [
      { what: 'aerial socket', place: 'power head, 40 dB' },
      { what: 'microphone', place: 'unplugged' },
    ],
    targetWords: '3.60 .. 4.00 W, aim 3.85 W',
    transmit: 'transmit',
    mode: 'FM, no tone',
    channelWanted: 20,
    channelMiddle: 19,
    channelSeen: 20,
    tone: '',
    before: '',
    cautions: [
      'Load on before keying.',
      'Heatsink is hot: hold the board by its edge.',
      'Never key without a load; 4 W into a bare finger burns.',
      'The chassis floats: common to ES, never to the case.',
      'Local rules and a licence decide what may be transmitted.',
    ],
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

export const RELEASED: KeyView = { keyed: false, seconds: 0, atMostS: 15, share: 0, restLeftS: 0 }

export function keyed(seconds: number, atMostS = 15): KeyView {
  return { keyed: true, seconds, atMostS, share: seconds / atMostS, restLeftS: 0 }
}

export function captured(parts: Parts<Captured> = {}): Captured {
  return {
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
    by: 'dwell',
    latest: true,
    ...parts,
  }
}

export const STEP_LINES: readonly StepLine[] = [
  { id: 'current', row: 'A1', title: 'Current in receive', state: 'done', result: '0.30 A' },
  { id: 'plug', row: 'A2', title: 'Volts at the plug', state: 'done', result: '13.80 V' },
  { id: 'control', row: 'A5', title: 'Control voltage, receive', state: 'done', result: '2.41 V' },
  { id: 'ends', row: 'A6', title: 'Control voltage at both ends', state: 'out of band', result: '1.34 V' },
  { id: 'reference', row: 'A8', title: 'Carrier frequency', state: 'done', result: '27.204 991 MHz' },
  { id: 'drive', row: 'A9 to A11', title: 'Exciter and output coils', state: 'done', result: '5.71 W' },
  { id: 'power', row: 'A12', title: 'Transmit power', state: 'open', result: '' },
  { id: 'reserve', row: 'A13', title: 'Power at 13.8 V', state: 'to do', result: '' },
  { id: 'carrier', row: 'A20', title: 'AM carrier', state: 'left out', result: 'AM is not allowed here' },
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
    beside: [],
    offers: [],
    ...parts,
  }
}

const PEAK_STEP = step({
  id: 'drive',
  row: 'A9 to A11',
  number: 9,
  title: 'Exciter and output coils',
  technique: 'peak',
  adjuster: 'DK',
  adjusterWhere: 'interstage coil, left can',
  tool: 'hexagonal, plastic',
  targetWords: 'maximum',
  before: 'PW fully open',
})

function peaking(parts: Parts<LiveFrame>): LiveFrame {
  return frame({
    step: PEAK_STEP,
    slot: PEAK_SLOT,
    reading: reading({ value: 5.6, digits: '5.60' }),
    peg: { e: 0, halfE: 0.4, ragged: 0.1, drop: 0 },
    peak: peak(),
    key: keyed(6),
    ...parts,
  })
}

const IN_BAND = reading({ value: 3.86, digits: '3.86' })

/** One frame for each state, as a job would send it. */
export const FIXTURES: Readonly<Record<LiveState, LiveFrame>> = {
  idle: frame({
    mode: 'idle',
    state: 'idle',
    reading: null,
    slot: null,
    peg: null,
    step: null,
    steps: [],
    supply: supply({ resting: 'normal', plugVolts: 13.8, amps: 0.3, wantedVolts: null }),
    offers: ['watch', 'start job'],
  }),
  'read step': frame({
    state: 'read step',
    reading: null,
    peg: null,
    guide: { words: 'Tool into PW, then ready', way: '', hands: '' },
    offers: ['ready', 'open step', 'leave out', 'stop', 'close job'],
  }),
  'supply moving': frame({
    state: 'supply moving',
    peg: null,
    supply: supply({ plugVolts: 14.21, moving: true }),
    guide: { words: 'Supply to 15.60 V at the plug', way: '', hands: '' },
    offers: ['stop'],
  }),
  action: frame({
    state: 'action',
    step: PEAK_STEP,
    peg: null,
    guide: { words: 'PW fully open, then confirm', way: '', hands: '' },
    offers: ['confirm', 'stop'],
  }),
  'key now': frame({
    state: 'key now',
    peg: null,
    guide: { words: 'Key now, tool in PW', way: '', hands: '' },
    offers: ['stop'],
  }),
  'release key': frame({
    state: 'release key',
    key: keyed(15),
    guide: { words: 'Time is up: release the key', way: '', hands: '' },
    offers: ['stop'],
  }),
  rest: frame({ state: 'rest', peg: null, key: { ...RELEASED, restLeftS: 42.3 }, offers: ['stop'] }),
  'hold-off': frame({
    state: 'hold-off',
    peg: { e: -2.1, halfE: 0.56, ragged: 0.9, drop: 0 },
    reading: reading({ value: 3.21, digits: '3.21' }),
    settle: { share: 0, seconds: 0, word: '' },
    guide: { words: 'Wait: readings do not count yet', way: '', hands: '' },
    key: keyed(1.2),
    offers: ['stop'],
  }),
  settling: frame({
    state: 'settling',
    step: step({
      technique: 'check',
      adjuster: '',
      adjusterWhere: '',
      title: 'Power at 13.8 V',
      row: 'A13',
      number: 13,
    }),
    reading: reading({ value: 3.68, digits: '3.68' }),
    peg: { e: -0.68, halfE: 0.3, ragged: 0.7, drop: 0.4 },
    settle: { share: 0.4, seconds: 3.4, word: 'Settling: hands off' },
    guide: { words: 'Settling: hands off', way: '', hands: 'off' },
    key: keyed(4, 10),
    offers: ['capture', 'stop'],
  }),
  far: frame({
    guide: { words: 'Far too high: bring it down', way: 'down', hands: 'on' },
    peg: { e: 8, halfE: 0.56, ragged: 0.2, drop: 0 },
    reading: reading({ value: 5.05, digits: '5.05' }),
    key: keyed(3),
    offers: ['capture', 'stop'],
  }),
  near: frame({
    state: 'near',
    guide: { words: 'Bring it up a little', way: 'up', hands: 'on' },
    peg: { e: -1.6, halfE: 0.4, ragged: 0.2, drop: 0 },
    reading: reading({ value: 3.45, digits: '3.45' }),
    key: keyed(7),
    offers: ['capture', 'stop'],
  }),
  in: frame({
    state: 'in',
    reading: IN_BAND,
    peg: { e: 0.3, halfE: 0.4, ragged: 0.4, drop: 0.2 },
    guide: { words: 'There: tool out, hands still', way: 'hold', hands: 'off' },
    key: keyed(9),
    offers: ['capture', 'stop'],
  }),
  steady: frame({
    state: 'steady',
    reading: IN_BAND,
    peg: { e: 0.07, halfE: 0.4, ragged: 0, drop: 0.6 },
    settle: { share: 0.6, seconds: 4, word: '' },
    guide: { words: 'There. Tool out', way: 'hold', hands: 'off' },
    key: keyed(11),
    beside: [reading({ quantity: 'DC current', value: 1.24, digits: '1.24', unit: 'A', instrument: 'supply' })],
    offers: ['capture', 'stop'],
  }),
  climb: peaking({
    state: 'climb',
    peak: peak({ proved: false }),
    guide: { words: 'Go on slowly', way: 'up', hands: 'on' },
    offers: ['stop'],
  }),
  'passed over': peaking({
    state: 'passed over',
    reading: reading({ value: 5.41, digits: '5.41' }),
    peg: { e: -4.6, halfE: 0.4, ragged: 0.1, drop: 0 },
    peak: peak({ belowDb: 0.23, fromStartDb: 1.01 }),
    guide: { words: 'BACK', way: 'back', hands: 'on' },
    offers: ['stop'],
  }),
  return: peaking({
    state: 'return',
    reading: reading({ value: 5.58, digits: '5.58' }),
    peg: { e: -1.9, halfE: 0.4, ragged: 0.1, drop: 0 },
    peak: peak({ belowDb: 0.095, fromStartDb: 1.145 }),
    guide: { words: 'Slowly: 0.10 dB below the best', way: 'up', hands: 'on' },
    offers: ['stop'],
  }),
  'at best': peaking({
    state: 'at best',
    reading: reading({ value: 5.7, digits: '5.70' }),
    peg: { e: -0.3, halfE: 0.4, ragged: 0, drop: 0.7 },
    peak: peak({ belowDb: 0.02, fromStartDb: 1.22, round: 2, gainDb: 0.31 }),
    settle: { share: 0.7, seconds: 2, word: '' },
    guide: { words: 'Top found. Hands off', way: 'hold', hands: 'off' },
    offers: ['capture', 'stop'],
  }),
  captured: frame({
    state: 'captured',
    reading: IN_BAND,
    peg: { e: 0.02, halfE: 0.4, ragged: 0, drop: 1 },
    settle: { share: 1, seconds: 5, word: '' },
    captured: [captured()],
    guide: { words: 'Captured', way: '', hands: '' },
    offers: ['next', 'stop'],
  }),
  'wrong channel': frame({
    state: 'wrong channel',
    step: step({ channelSeen: 19 }),
    peg: null,
    guide: { words: 'Wrong channel', way: '', hands: 'off' },
    because: 'the set is on 19, the step wants 20',
    offers: ['stop'],
  }),
  'no effect': frame({
    state: 'no effect',
    because: 'PW does nothing to the power: the loop is open',
    guide: { words: 'look at the power detector first', way: '', hands: 'off' },
    offers: ['next', 'stop'],
  }),
  'cannot reach': frame({
    state: 'cannot reach',
    because: 'both ends of PW are below 3.60 W',
    guide: { words: 'suspect the output stage', way: '', hands: 'off' },
    offers: ['next', 'stop'],
  }),
  'over range': frame({
    state: 'over range',
    reading: reading({ value: null, word: 'over range', digits: '' }),
    peg: null,
    because: 'the power meter is above its range',
    offers: ['stop'],
  }),
  old: frame({
    state: 'old',
    reading: reading({ arrivedMs: MADE_MS - 4_200, ageMs: 4_200 }),
    because: 'the power meter has not answered for 4 s',
    offers: ['stop'],
  }),
  'link lost': frame({
    state: 'link lost',
    reading: reading({ arrivedMs: MADE_MS - 6_000, ageMs: 6_000 }),
    because: 'the cable of the power meter is out: plug it back in',
    offers: ['stop'],
  }),
  paused: frame({
    state: 'paused',
    peg: null,
    because: 'the page that steers is gone',
    guide: { words: 'Supply at normal. Go on when you are ready', way: '', hands: '' },
    supply: supply({ resting: 'normal', plugVolts: 13.8, wantedVolts: 13.8 }),
    offers: ['go on', 'stop'],
  }),
  stopped: frame({
    state: 'stopped',
    peg: null,
    supply: supply({ output: 'off', plugVolts: 0, amps: 0, resting: 'safe' }),
    because: 'the supply drew more than 2.5 A',
    guide: { words: 'SUPPLY OFF', way: '', hands: 'off' },
    offers: ['go on'],
  }),
  finished: frame({
    state: 'finished',
    reading: null,
    slot: null,
    peg: null,
    supply: supply({ resting: 'normal', plugVolts: 13.8, amps: 0.3 }),
    captured: [
      captured({
        step: 'control',
        row: 'A5',
        title: 'Control voltage',
        quantity: 'DC voltage',
        digits: '2.41',
        unit: 'V',
        band: '2.20 .. 2.60 V',
      }),
      captured({
        step: 'ends',
        row: 'A6',
        title: 'Control voltage, low end',
        quantity: 'DC voltage',
        at: 'channel 1',
        digits: '1.34',
        unit: 'V',
        band: '1.40 .. 1.80 V',
        verdict: 'low',
      }),
      captured({
        step: 'reference',
        row: 'A8',
        title: 'Carrier',
        quantity: 'frequency',
        digits: '27.204991',
        unit: 'MHz',
        band: '27.204850 .. 27.205150 MHz',
      }),
      captured({
        step: 'drive',
        row: 'A9 to A11',
        title: 'Exciter and output coils',
        digits: '5.71',
        band: 'maximum',
        label: 'peaked',
      }),
      captured({ digits: '3.92', value: 3.92, latest: false }),
      captured(),
    ],
    offers: ['close job', 'open step'],
  }),
}

/** Just watching a carrier: no step, no job. */
export const WATCHING = frame({
  mode: 'watch',
  state: 'near',
  step: null,
  steps: [],
  reading: reading({
    quantity: 'frequency',
    value: 27_205_187,
    digits: '27.205187',
    unit: 'MHz',
    instrument: 'counter',
    oldAfterMs: 3_000,
  }),
  slot: {
    ...POWER_BAND,
    lowLabel: '−150 Hz',
    highLabel: '+150 Hz',
    aimLabel: '27.205 MHz',
    aimLowE: -0.2,
    aimHighE: 0.2,
  },
  peg: { e: 1.25, halfE: 0.12, ragged: 0, drop: 0 },
  guide: { words: 'Bring it down a little', way: 'down', hands: 'on' },
  supply: supply({ plugVolts: 13.8, amps: 0.31, resting: 'normal', wantedVolts: null }),
})
