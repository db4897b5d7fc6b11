import type { LiveFrame, LiveState, ReadingView } from '../../src/schema/messages/shown.ts'
import { jobFrame } from '../kit/links/fake-source.ts'
import { frame, keyed, reading } from '../web/frame-parts.ts'
import { FIXTURES } from '../web/frames.ts'

const BESIDE: readonly (readonly [ReadingView['quantity'], string])[] = [
  ['frequency', 'MHz'],
  ['FM deviation', 'kHz'],
  ['AM depth', '%'],
  ['DC voltage', 'V'],
  ['DC current', 'A'],
  ['audio level', 'mV'],
  ['SINAD', 'dB'],
]

/** A frame of the open gauge in the middle of a job: eight quantities read anew and all other than before, forty steps, ten captured values. */
export function eightFrame(seq: number, atMs: number): LiveFrame {
  const { steps, captured } = jobFrame(seq, atMs)
  const swing = Math.sin(seq / 9)
  const times = { arrivedMs: atMs, ageMs: 0 }
  return frame({
    seq,
    atMs,
    steps,
    captured,
    state: Math.abs(swing) > 0.5 ? 'far' : 'near',
    reading: reading({ value: 3.8 + swing, digits: (3.8 + swing).toFixed(2), ...times }),
    peg: { e: 4 * swing, halfE: 0.3, ragged: (seq % 10) / 10, drop: 0 },
    key: keyed((seq % 200) / 20),
    beside: BESIDE.map(([quantity, unit], index) =>
      reading({ quantity, unit, digits: (index + 1 + swing).toFixed(3), value: index + 1 + swing, ...times }),
    ),
  })
}

/** The states of one minute, five seconds each, so that every minute ends as the first one did. */
const MINUTE: readonly LiveState[] = [
  'read step',
  'key now',
  'hold-off',
  'far',
  'near',
  'in',
  'steady',
  'captured',
  'climb',
  'passed over',
  'at best',
  'far',
]

/** The frame `index` (20 a second) of an hour of work: a minute of twelve states over and over, each with moving readings and now and then an event. */
export function hourFrame(index: number, seq: number, atMs: number): LiveFrame {
  const state = MINUTE[Math.floor(index / 100) % MINUTE.length] ?? 'far'
  const moving = eightFrame(index, atMs)
  const still = FIXTURES[state]
  return {
    ...still,
    seq,
    atMs,
    steps: moving.steps,
    captured: moving.captured,
    beside: moving.beside,
    reading: still.reading && { ...still.reading, ...moving.reading, quantity: still.reading.quantity },
    peg: still.peg && { ...still.peg, e: still.peg.e + (index % 20) / 100 },
    events: [
      { seq: 1 + Math.floor(index / 100), what: state === 'captured' ? 'captured' : 'note', words: `${state}, again` },
    ],
  }
}
