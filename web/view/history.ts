import type { Quantity } from '../../src/quantity/quantity.ts'
import type { LiveEvent, LiveFrame, LiveState } from '../../src/schema/messages/shown.ts'
import { HISTORY } from '../words/words-of-drawings.ts'

/** How far back is kept, ms, and the shortest time from one point to the next: 3000 points at most. */
export const HISTORY_MS = 600_000
const SLOT_MS = 200
const CAPACITY = HISTORY_MS / SLOT_MS
const MOST_MARKS = 120
/** A new best within this time takes the place of the one before. */
const BESTS_APART_MS = 3_000
/** A reading older than this is not told as "now", s. */
const NOW_S = 3
/** The stretch that is told in words. */
const TOLD_MS = 120_000

/** A moment with its words, s before now (0 or less). */
export interface HistoryMark {
  readonly atS: number
  readonly what: LiveEvent['what'] | 'key down' | 'key up' | 'stop' | 'marked'
  readonly words: string
}

/** How a value is written: shown is value / 10^exponent with so many decimals. */
export interface Print {
  readonly exponent: number
  readonly decimals: number
  readonly unit: string
}

/** The last minutes of the open step: lists of one length, oldest first, null where nothing counted (a gap) or there is no edge. */
export interface HistoryView {
  readonly quantity: Quantity
  /** s before now, 0 or less. */
  readonly atS: readonly number[]
  readonly values: readonly (number | null)[]
  /** Least and largest within a point: a spike between two points is not lost. */
  readonly lows: readonly (number | null)[]
  readonly highs: readonly (number | null)[]
  readonly edgeLows: readonly (number | null)[]
  readonly edgeHighs: readonly (number | null)[]
  readonly marks: readonly HistoryMark[]
  readonly print: Print
}

export interface History {
  /** Takes in a frame; one that says nothing new changes nothing. */
  add(frame: LiveFrame): void
  /** Null while no step is open, or nothing of it was read. `nowMs`: the service's clock. */
  view(nowMs: number): HistoryView | null
}

/** States in which a reading counts for nothing. */
const COUNTS_NOT: readonly LiveState[] = [
  'hold-off',
  'old',
  'link lost',
  'over range',
  'wrong channel',
  'stopped',
  'paused',
]

/** What is worth a mark in the trace. */
const MARKED: readonly LiveEvent['what'][] = [
  'captured',
  'new best',
  'passed over',
  'link lost',
  'link back',
  'stopped',
]

const COLUMNS = ['at', 'value', 'low', 'high', 'edgeLow', 'edgeHigh'] as const
type Point = Readonly<Record<(typeof COLUMNS)[number], number>>

/** A ring of points with room for ten minutes: the oldest one is written over. NaN is a gap. */
function openRing() {
  const columns = Object.fromEntries(COLUMNS.map((name) => [name, new Float64Array(CAPACITY)]))
  let first = 0
  let count = 0
  const put = (place: number, point: Point) => {
    for (const name of COLUMNS) columns[name]?.fill(point[name], place, place + 1)
  }
  const get = (index: number): Point => {
    const place = (first + index) % CAPACITY
    const of = (name: keyof Point) => columns[name]?.[place] ?? Number.NaN
    const [at, value, low, high, edgeLow, edgeHigh] = [
      of('at'),
      of('value'),
      of('low'),
      of('high'),
      of('edgeLow'),
      of('edgeHigh'),
    ]
    return { at, value, low, high, edgeLow, edgeHigh }
  }
  return {
    clear() {
      first = 0
      count = 0
    },
    newest: () => (count === 0 ? null : get(count - 1)),
    replace: (point: Point) => put((first + count - 1) % CAPACITY, point),
    add(point: Point) {
      put((first + count) % CAPACITY, point)
      if (count < CAPACITY) count += 1
      else first = (first + 1) % CAPACITY
    },
    since(fromMs: number): readonly Point[] {
      let start = count
      while (start > 0 && get(start - 1).at >= fromMs) start -= 1
      return Array.from({ length: count - start }, (_, index) => get(start + index))
    },
  }
}

/** Keeps the last ten minutes of the main quantity of the step that is open; another step begins anew. Knows no time but the frames'. */
export function openHistory(): History {
  const ring = openRing()
  let marks: (Omit<HistoryMark, 'atS'> & { readonly atMs: number })[] = []
  let before: LiveFrame | null = null
  let quantity: Quantity | null = null
  let seen = 0
  let slotMs = Number.NEGATIVE_INFINITY
  let readMs = Number.NEGATIVE_INFINITY
  let print: Print = { exponent: 0, decimals: 2, unit: '' }

  const mark = (what: HistoryMark['what'], words: string, atMs: number) => {
    const last = marks.at(-1)
    if (what === 'new best' && last?.what === 'new best' && atMs - last.atMs < BESTS_APART_MS) marks.pop()
    marks.push({ what, words, atMs })
    if (marks.length > MOST_MARKS) marks = marks.slice(-MOST_MARKS)
  }

  const clear = () => {
    ring.clear()
    marks = []
    quantity = null
    slotMs = Number.NEGATIVE_INFINITY
    readMs = Number.NEGATIVE_INFINITY
  }

  const gap = (atMs: number) => {
    const newest = ring.newest()
    if (newest === null || Number.isNaN(newest.value)) return
    ring.add({ ...newest, at: atMs, value: Number.NaN, low: Number.NaN, high: Number.NaN })
    slotMs = Number.NEGATIVE_INFINITY
  }

  const addEvents = (frame: LiveFrame) => {
    const last = frame.events.at(-1)?.seq ?? 0
    // what happened before this page came, or in a job of before, has no place in time here
    if (before !== null && last >= seen)
      for (const { seq, what } of frame.events)
        if (seq > seen && MARKED.includes(what)) mark(what, HISTORY.mark[what] ?? what, frame.atMs)
    seen = last
    if (before === null) return
    if (frame.key.keyed !== before.key.keyed)
      mark(frame.key.keyed ? 'key down' : 'key up', frame.key.keyed ? HISTORY.keyDown : HISTORY.keyUp, frame.atMs)
    const stop = frame.step?.stop?.words ?? ''
    if (stop !== '' && stop !== before.step?.stop?.words) mark('stop', stop, frame.atMs)
    if (frame.marks.length > before.marks.length) mark('marked', HISTORY.marked, frame.atMs)
  }

  const addReading = (frame: LiveFrame) => {
    const { key, reading, slot, step } = frame
    if (step === null || reading === null || reading.arrivedMs <= readMs) return
    const keyRight = step.transmit === 'receive' || key.keyed
    if (reading.value === null || COUNTS_NOT.includes(frame.state) || !keyRight) {
      readMs = reading.arrivedMs
      return gap(frame.atMs)
    }
    if (reading.arrivedMs - readMs > reading.oldAfterMs) gap(readMs + 1)
    readMs = reading.arrivedMs
    quantity = reading.quantity
    print = printOf(reading.value, reading.digits, reading.unit, print)
    const { value } = reading
    const [edgeLow, edgeHigh] =
      slot?.kind === 'band' ? [slot.low ?? Number.NaN, slot.high ?? Number.NaN] : [Number.NaN, Number.NaN]
    const newest = ring.newest()
    const at = Math.max(readMs, newest?.at ?? readMs)
    if (newest === null || at - slotMs >= SLOT_MS) {
      slotMs = at
      ring.add({ at, value, low: value, high: value, edgeLow, edgeHigh })
    } else
      ring.replace({
        at: newest.at,
        value,
        low: Math.min(newest.low, value),
        high: Math.max(newest.high, value),
        edgeLow,
        edgeHigh,
      })
  }

  return {
    add(frame) {
      const restarted = before !== null && frame.atMs < before.atMs
      if (restarted || lineOf(frame) !== (before === null ? '' : lineOf(before))) clear()
      if (quantity !== null && frame.reading !== null && frame.reading.quantity !== quantity) clear()
      if (restarted) before = null
      if (frame.step !== null) {
        addEvents(frame)
        addReading(frame)
      }
      before = frame
    },
    view(nowMs) {
      if (quantity === null) return null
      const points = ring.since(nowMs - HISTORY_MS)
      const column = (name: keyof Point) => points.map((point) => (Number.isNaN(point[name]) ? null : point[name]))
      return {
        quantity,
        atS: points.map(({ at }) => Math.min(0, (at - nowMs) / 1000)),
        values: column('value'),
        lows: column('low'),
        highs: column('high'),
        edgeLows: column('edgeLow'),
        edgeHighs: column('edgeHigh'),
        marks: marks.flatMap(({ atMs, what, words }) =>
          atMs < nowMs - HISTORY_MS ? [] : [{ atS: Math.min(0, (atMs - nowMs) / 1000), what, words }],
        ),
        print,
      }
    },
  }
}

/** The step in its pass: opened in another pass it is another thing to read. */
function lineOf({ job, step }: LiveFrame): string {
  return step === null ? '' : `${job?.id ?? ''} ${step.pass} ${step.id}`
}

/** The power of ten between a value and its digits; a value that shows as nothing tells none, and the one before stands. */
function printOf(value: number, digits: string, unit: string, before: Print): Print {
  const shown = Number(digits)
  const decimals = digits.split('.')[1]?.length ?? 0
  if (shown === 0 || value === 0 || !Number.isFinite(shown))
    return unit === before.unit ? { ...before, decimals } : { exponent: before.exponent, decimals, unit }
  return { exponent: Math.round(Math.log10(Math.abs(value / shown))), decimals, unit }
}

/** A value as the meter's digits would show it: "3.85". */
export function printed(value: number, { exponent, decimals }: Print): string {
  return (value / 10 ** exponent).toFixed(decimals).replace('-', '−')
}

/** The last two minutes in words: "3.85 W now, between 3.79 and 3.86 in the last 2 min; key down 3 times". */
export function historyWords(view: HistoryView | null): string {
  const lastAt = view === null ? -1 : view.values.findLastIndex((value) => value !== null)
  const last = view?.values[lastAt] ?? null
  if (view === null || last === null) return HISTORY.nothing
  const { atS, highs, lows, marks, print } = view
  const fromS = -TOLD_MS / 1000
  const recent = atS.flatMap((at, index) => (at >= fromS && lows[index] != null ? [index] : []))
  const all = (column: readonly (number | null)[]) => recent.flatMap((index) => column[index] ?? [])
  const agoS = -(atS[lastAt] ?? 0)
  const running = lastAt === view.values.length - 1
  const readS = -(atS[recent[0] ?? lastAt] ?? 0)
  const spanS = readS > 0.9 * -fromS ? -fromS : readS
  const keyed = marks.filter(({ atS: at, what }) => what === 'key down' && at >= fromS).length
  const value = `${printed(last, print)} ${print.unit}`
  const range =
    recent.length < 2
      ? null
      : { low: printed(Math.min(...all(lows)), print), high: printed(Math.max(...all(highs)), print) }
  return HISTORY.told({ value, agoS: running && agoS < NOW_S ? null : agoS, range, spanS, keyed })
}
