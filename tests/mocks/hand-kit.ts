import { createHand, type Hand } from '../../mocks/hand/hand.ts'
import type { Adjuster } from '../../mocks/plant/adjusters.ts'
import type { Glance, SimulatedSet } from '../../mocks/plant/simulated-set.ts'
import type { FromPage, LiveFrame, LiveState, StepView } from '../../src/schema/messages/shown.ts'
import { type Clock, sleep } from '../../src/system/clock.ts'
import { seededRng } from '../../src/system/rng.ts'
import { type VirtualClock, virtualClock } from '../../src/system/virtual-clock.ts'

/** A set that only keeps what hands did to it, with the time. */
export interface NotedSet extends SimulatedSet {
  readonly done: { readonly atMs: number; readonly what: string }[]
  readonly positions: Record<Adjuster, number>
  readonly now: { key: boolean; hand: Adjuster | null }
}

export interface HandBench {
  readonly clock: VirtualClock
  readonly set: NotedSet
  readonly hand: Hand
  readonly asked: { readonly atMs: number; readonly message: FromPage }[]
  /** Shows a frame with this state and what else is given. */
  show(state: LiveState, more?: FrameParts): void
  /** Shows what `make` says every 100 ms for `ms`. */
  showing(ms: number, make: () => { readonly state: LiveState; readonly more?: FrameParts }): Promise<void>
  stop(): void
}

export interface FrameParts {
  readonly step?: Partial<StepView>
  readonly guide?: Partial<LiveFrame['guide']>
  readonly value?: number
  readonly e?: number
  readonly arrivedMs?: number
  readonly belowDb?: number
  readonly because?: string
  readonly offers?: LiveFrame['offers']
  readonly steps?: LiveFrame['steps']
  readonly settings?: LiveFrame['settings']
  readonly typing?: LiveFrame['typing']
  readonly key?: LiveFrame['key']
  readonly slot?: LiveFrame['slot']
}

/** A hand with a noted set on a clock of its own. */
export function handBench(seed = 1, displays?: () => Readonly<Record<string, string>>): HandBench {
  const clock = virtualClock()
  const set = notedSet(clock)
  const stop = new AbortController()
  const asked: { atMs: number; message: FromPage }[] = []
  const hand = createHand({
    set,
    clock,
    rng: seededRng(seed),
    signal: stop.signal,
    ...(displays ? { displays } : {}),
    request: (message) => asked.push({ atMs: clock.nowMs(), message }),
  })
  let seq = 0
  const show: HandBench['show'] = (state, more = {}) => {
    seq += 1
    hand.onFrame(frameOf(state, more, seq, clock.nowMs()))
  }
  return {
    clock,
    set,
    hand,
    asked,
    show,
    showing: (ms, make) =>
      clock.runUntil(
        (async () => {
          for (const endMs = clock.nowMs() + ms; clock.nowMs() < endMs; ) {
            const { state, more } = make()
            show(state, more)
            await sleep(clock, 100, stop.signal)
          }
        })(),
      ),
    stop: () => stop.abort(new Error('the test is over')),
  }
}

/** A set whose adjusters move and which keeps a note of everything else. */
export function notedSet(clock: Clock): NotedSet {
  const done: { atMs: number; what: string }[] = []
  const positions = { VK: 0, RT: 0, DK: 0, OK: 0, PW: 0.478, PC: 0, PM: 0, PD: 0 }
  const menu: Record<string, string> = { band: 'cept', 'time-out timer': '15 s', brightness: '3' }
  const now: { key: boolean; hand: Adjuster | null } = { key: false, hand: null }
  const glance: { -readonly [K in keyof Glance]: Glance[K] } = { channel: 20, mode: 'FM', microphone: 'nothing' }
  const note = (what: string) => done.push({ atMs: clock.nowMs(), what })
  return {
    done,
    positions,
    now,
    turn: (adjuster, by) => {
      const preset = adjuster.startsWith('P')
      const to = preset ? Math.min(Math.max(positions[adjuster] + by, 0), 1) : positions[adjuster] + by
      const went = to - positions[adjuster]
      positions[adjuster] = to
      return went
    },
    key: (down) => {
      now.key = down
      note(down ? 'key down' : 'key up')
    },
    hand: (near) => {
      now.hand = near
      note(near === null ? 'tool out' : `tool in ${near}`)
    },
    channel: (n) => {
      glance.channel = n
      note(`channel ${n}`)
    },
    mode: (mode) => {
      glance.mode = mode
      note(`mode ${mode}`)
    },
    prod: (place) => note(`prod ${place}`),
    common: (place) => note(`common ${place}`),
    microphone: (what) => {
      glance.microphone = what
      note(`microphone ${what}`)
    },
    whistle: (on) => note(`whistle ${on}`),
    load: (on) => note(`load ${on}`),
    cover: (on) => note(`cover ${on}`),
    powerOnBand: (id) => note(`band ${id}`),
    settings: () => ({ ...menu }),
    setting: (name, value) => {
      menu[name] = value
      note(`setting ${name} ${value}`)
    },
    glance: () => ({ ...glance }),
    view: () => {
      throw new TypeError('the hand looks at the gauge, not into the set')
    },
  }
}

function frameOf(state: LiveState, more: FrameParts, seq: number, atMs: number): LiveFrame {
  const reading: LiveFrame['reading'] = {
    quantity: 'DC voltage',
    value: more.value ?? null,
    word: '',
    digits: '',
    unit: 'V',
    arrivedMs: more.arrivedMs ?? atMs,
    ageMs: 0,
    oldAfterMs: 2000,
    instrument: 'volts',
  }
  return {
    kind: 'frame',
    format: 1,
    seq,
    atMs,
    bench: { name: 'test', simulated: true },
    mode: 'job',
    state,
    reading: more.value === undefined ? null : reading,
    slot: more.slot ?? null,
    peg: more.e === undefined ? null : { e: more.e, halfE: 0.1, ragged: 0, drop: 0 },
    peak:
      more.belowDb === undefined
        ? null
        : {
            fromStartDb: 0,
            belowDb: more.belowDb,
            sigmaDb: 0.02,
            proved: false,
            round: 1,
            rounds: 4,
            gainDb: null,
            adjuster: 'DK',
          },
    settle: { share: 0, seconds: 0, word: '' },
    guide: { words: '', way: '', hands: '', ...more.guide },
    because: more.because ?? '',
    step: { ...STEP, ...more.step },
    supply: {
      plugVolts: 13.8,
      terminalVolts: 13.8,
      amps: 0.3,
      output: 'on',
      resting: 'working',
      moving: false,
      wantedVolts: 13.8,
    },
    key: more.key ?? { keyed: false, seconds: 0, atMostS: 20, share: 0, restLeftS: 0 },
    events: [],
    steps: more.steps ?? [],
    captured: [],
    marks: [],
    beside: [],
    settings: more.settings ?? [],
    typing: more.typing ?? null,
    job: null,
    offers: more.offers ?? ['ready', 'confirm', 'next', 'go on', 'stop'],
  }
}

const STEP: StepView = {
  id: 'a-step',
  row: 'A1',
  number: 1,
  of: 7,
  title: 'A step',
  technique: 'set',
  pass: 'work',
  stop: null,
  sounds: 'on',
  adjuster: '',
  adjusterWhere: '',
  tool: null,
  where: [],
  reads: [],
  floating: false,
  targetWords: '',
  transmit: 'receive',
  mode: 'FM',
  channelWanted: null,
  channelMiddle: null,
  channelSeen: null,
  tone: '',
  before: '',
  asksForBands: false,
  cautions: [],
  cautionsSeen: [],
  bands: [],
}
