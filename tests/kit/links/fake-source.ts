import type { LiveSource } from '../../../src/alignment/live-source.ts'
import type { Answer, FromPage, LiveFrame } from '../../../src/schema/messages/shown.ts'
import type { Clock } from '../../../src/system/clock.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'

/** A source whose frames a test makes, and that writes down what the server asks and tells it. */
export interface FakeSource extends LiveSource {
  /** Makes a frame with the next number, all else as in an idle bench unless told. */
  emit(changes?: Partial<LiveFrame>): LiveFrame
  readonly requests: FromPage[]
  /** "present: why" and "absent: why", in order. */
  readonly presences: string[]
  /** Until it is called with another one, requests are answered with { ok: true, words: 'done' }. */
  answerWith(answer: Promise<Answer>): void
  /** How many listen to frames. */
  listeners(): number
}

/** A source with one idle frame. */
export function fakeSource(clock: Clock): FakeSource {
  const listeners = new Set<(frame: LiveFrame) => void>()
  const requests: FromPage[] = []
  const presences: string[] = []
  let answer: Promise<Answer> = Promise.resolve({ ok: true, words: 'done' })
  let frame = idleFrame(1, clock.nowMs())
  return {
    requests,
    presences,
    latest: () => frame,
    onFrame: (listener) => {
      listeners.add(listener)
      return () => listeners.delete(listener)
    },
    welcome: () => ({
      kind: 'welcome',
      format: 1,
      bench: frame.bench,
      measures: [{ quantity: 'RF power', instrument: 'power', example: '3.6 .. 3.9 W' }],
      procedures: [],
      ruleCards: [],
      wrongFiles: [],
      openJobs: [],
      closedJobs: [],
      setPage: null,
      places: [],
    }),
    request: (message) => {
      requests.push(message)
      return answer
    },
    steererPresent: (present, why) => presences.push(`${present ? 'present' : 'absent'}: ${sentence(why)}`),
    emit: (changes = {}) => {
      frame = { ...idleFrame(frame.seq + 1, clock.nowMs()), ...changes }
      for (const listener of listeners) listener(frame)
      return frame
    },
    answerWith: (next) => {
      answer = next
    },
    listeners: () => listeners.size,
  }
}

/** A whole frame of a bench on which nothing happens. */
export function idleFrame(seq: number, atMs: number): LiveFrame {
  return {
    kind: 'frame',
    format: 1,
    seq,
    atMs,
    bench: { name: 'Test bench', simulated: true },
    mode: 'idle',
    state: 'idle',
    reading: null,
    slot: null,
    peg: null,
    peak: null,
    settle: { share: 0, seconds: 0, word: '' },
    guide: { words: '', way: '', hands: '' },
    because: '',
    step: null,
    supply: {
      plugVolts: null,
      terminalVolts: null,
      amps: null,
      output: 'unknown',
      resting: 'safe',
      moving: false,
      wantedVolts: null,
    },
    key: { keyed: false, seconds: 0, atMostS: 20, share: 0, restLeftS: 0 },
    events: [],
    steps: [],
    captured: [],
    marks: [],
    beside: [],
    settings: [],
    typing: null,
    job: null,
    offers: ['watch'],
  }
}

/** A frame about as large as one in the middle of a job: forty steps, ten captured values; near 6 kB of JSON. */
export function jobFrame(seq: number, atMs: number): LiveFrame {
  return {
    ...idleFrame(seq, atMs),
    mode: 'job',
    state: 'climb',
    guide: { words: 'Turn on, it still rises', way: 'up', hands: 'on' },
    steps: Array.from({ length: 40 }, (_, index) => ({
      id: `step-${index}`,
      step: `step-${index}`,
      pass: 'work' as const,
      row: `A${index}`,
      title: `Row ${index} of the printed sheet`,
      state: 'to do' as const,
      result: '',
    })),
    captured: Array.from({ length: 10 }, (_, index) => ({
      number: index + 1,
      pass: 'work' as const,
      step: `step-${index}`,
      row: `A${index}`,
      title: `Row ${index} of the printed sheet`,
      quantity: 'RF power' as const,
      at: '2026-01-05T08:00:00.000Z',
      value: 3.7,
      digits: '3.70',
      unit: 'W',
      band: '3.6 .. 3.9 W',
      verdict: 'inside' as const,
      label: 'settled' as const,
      count: 12,
      mean: 3.701,
      spread: 0.004,
      windowS: 2,
      uncertainty: 0.05,
      answer: 'in and clear',
      limit: null,
      accepted: true,
      by: 'dwell' as const,
      latest: true,
    })),
  }
}
