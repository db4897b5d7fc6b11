import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { agoWords, hundredths } from '../words/figures.ts'
import { quantityWords } from '../words/quantities.ts'
import { keyedWords, keyLeft, STRIP, stepOf, stepRow } from '../words/words.ts'

/** One small fact at the foot of the page. */
export interface Fact {
  readonly id: 'step' | 'set' | 'plug' | 'current' | 'reading'
  readonly label: string
  readonly value: string
  /** Drawn reversed, so that it is seen: the transmitter is on, a reading is old. */
  readonly loud: boolean
}

/** The key-down as a fuse round the sheet: how much is used, and how loud it is drawn. */
export interface FuseView {
  readonly share: number
  readonly level: 0 | 1 | 2 | 3
  /** Seconds left in words, from 70 % on; else "". */
  readonly words: string
}

/** The facts that are always on screen, small: step, transmitter, volts at the plug, current, age of the reading. */
export function factsOf(frame: LiveFrame, ageMs: number, old: boolean): readonly Fact[] {
  const { step, key, supply } = frame
  return [
    step === null
      ? { id: 'step', ...placeOf(frame), loud: false }
      : { id: 'step', label: stepRow(step.row), value: stepOf(step.number, step.of), loud: false },
    key.keyed
      ? { id: 'set', label: STRIP.transmit, value: keyedWords(key.seconds, key.atMostS), loud: true }
      : { id: 'set', label: STRIP.set, value: STRIP.receive, loud: false },
    { id: 'plug', label: STRIP.plug, value: plugWords(frame), loud: false },
    {
      id: 'current',
      label: STRIP.current,
      value: supply.amps === null ? STRIP.notRead : hundredths(supply.amps, 'A'),
      loud: false,
    },
    { id: 'reading', label: STRIP.reading, value: frame.reading === null ? STRIP.none : agoWords(ageMs), loud: old },
  ]
}

/** What stands where a job has its step: the quantity that is watched, or the bench. */
function placeOf(frame: LiveFrame) {
  if (frame.mode === 'idle' || frame.reading === null) return { label: STRIP.bench, value: frame.bench.name }
  return { label: STRIP.watching, value: quantityWords(frame.reading.quantity) }
}

function plugWords(frame: LiveFrame): string {
  const { supply } = frame
  if (supply.output === 'off') return STRIP.off
  return supply.plugVolts === null ? STRIP.notRead : hundredths(supply.plugVolts, 'V')
}

/** Null while the set is not keyed or has no limit. */
export function fuseOf(frame: LiveFrame): FuseView | null {
  const { key } = frame
  if (!key.keyed || key.atMostS <= 0) return null
  const level = key.share >= 1 ? 3 : key.share >= 0.9 ? 2 : key.share >= 0.7 ? 1 : 0
  const left = key.atMostS - key.seconds
  return { share: Math.min(1, Math.max(0, key.share)), level, words: level === 0 ? '' : keyLeft(left) }
}
