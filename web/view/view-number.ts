import type { Captured, LiveFrame } from '../../src/schema/messages/shown.ts'
import { signed } from '../words/figures.ts'
import { NO_NUMBER, oldWords } from '../words/words.ts'

/** The number as it is written: a head that hardly moves, a tail that does, from `dimFrom` on unsteady digits. */
export interface NumberView {
  readonly head: string
  readonly tail: string
  /** Index into head + tail from which digits flicker and are greyed; the length where none do. */
  readonly dimFrom: number
  readonly unit: string
  /** A named state instead of a number. */
  readonly word: boolean
  readonly struck: boolean
  /** Counts for nothing yet. */
  readonly faint: boolean
  /** Takes the whole width of a small screen. */
  readonly wide: boolean
  /** Shown beside a number that is struck out: "4.2 s old"; or "". */
  readonly age: string
}

/** What the biggest number shows: the reading itself, or on a peak the dB that the hand goes by. */
export interface NumberSource {
  readonly text: string
  readonly unit: string
  readonly word: boolean
}

const PLAIN_WORD = { unit: '', word: true } as const

/** The number of a frame before it is held and split. */
export function numberOf(frame: LiveFrame): NumberSource {
  const peak = frame.peak
  if (peak !== null && frame.reading?.value != null) {
    if (frame.state === 'climb') return { text: signed(peak.fromStartDb), unit: 'dB', word: false }
    if (frame.state === 'passed over' || frame.state === 'return' || frame.state === 'at best')
      return { text: signed(-peak.belowDb), unit: 'dB', word: false }
  }
  if (frame.state === 'captured') {
    const kept = capturedHere(frame)
    if (kept !== undefined) return { text: kept.digits, unit: kept.unit, word: false }
  }
  const reading = frame.reading
  if (reading === null) return { text: NO_NUMBER, ...PLAIN_WORD }
  if (reading.value === null) return { text: reading.word === '' ? NO_NUMBER : reading.word, ...PLAIN_WORD }
  return { text: reading.digits.replace('-', '−'), unit: reading.unit, word: false }
}

/** The capture of the step in hand that is to be seen: one that is not accepted, else the newest. */
export function capturedHere(frame: LiveFrame) {
  const { step } = frame
  const here = frame.captured.filter(
    (kept) => kept.latest && (step === null || (kept.step === step.id && kept.pass === step.pass)),
  )
  return here.find(isRefused) ?? here.at(-1)
}

/** Kept, but not accepted: nothing to tick off. As found it is a reading like any other. */
export function isRefused({ accepted, pass }: Captured): boolean {
  return !accepted && pass !== 'found'
}

/** Digits that move when six or fewer stay on screen as they are; a longer number gets a smaller head on narrow screens. */
const LONG = 7
const TAIL_DIGITS = 4
const THIN_SPACE = '\u202f'

/** Splits and groups a number: "27.204987" becomes "27.20" and "4 987". */
export function splitNumber(text: string): { readonly head: string; readonly tail: string } {
  const digits = text.replace(/\D/g, '').length
  const grouped = groupDecimals(text)
  if (digits < LONG) return { head: '', tail: grouped }
  let seen = 0
  let cut = grouped.length
  while (cut > 0 && seen < TAIL_DIGITS) {
    cut -= 1
    if (/\d/.test(grouped.charAt(cut))) seen += 1
  }
  return { head: grouped.slice(0, cut), tail: grouped.slice(cut) }
}

/** Threes after the point, from five decimals on. */
function groupDecimals(text: string): string {
  const [whole, decimals] = text.split('.')
  if (whole === undefined || decimals === undefined || decimals.length < 5) return text
  return `${whole}.${decimals.replace(/(\d{3})(?=\d)/g, `$1${THIN_SPACE}`)}`
}

export interface NumberLook {
  readonly struck: boolean
  readonly faint: boolean
  readonly ageMs: number
  /** From the digit holder: index into `text`, thin spaces not counted. */
  readonly dimFrom: number
}

/** The number ready to be drawn. */
export function numberView(source: NumberSource, look: NumberLook): NumberView {
  const { head, tail } = source.word ? { head: '', tail: source.text } : splitNumber(source.text)
  return {
    head,
    tail,
    dimFrom: source.word ? head.length + tail.length : withSpaces(head + tail, look.dimFrom),
    unit: source.unit,
    word: source.word,
    struck: look.struck && !source.word,
    faint: look.faint,
    wide: look.struck || source.word || head !== '',
    age: look.struck ? oldWords(look.ageMs) : '',
  }
}

function withSpaces(grouped: string, index: number): number {
  let plain = 0
  for (let at = 0; at < grouped.length; at += 1) {
    if (grouped.charAt(at) === THIN_SPACE) continue
    if (plain === index) return at
    plain += 1
  }
  return grouped.length
}
