import type { PlaceOnBench } from '../../src/schema/messages/shown.ts'
import { broken, lettersIn } from '../measure/letters.ts'
import { BENCH, benchWords, emptyPlaceWords, listed, placeWords, seatWords } from '../words/words-of-drawings.ts'
import { box, type Drawing, dot, group, LEADING, type Look, line, type Shape, written } from './shape.ts'

/** Where on the set the lead of an instrument ends. */
type Lead = keyof typeof BENCH.lead

/** An instrument at its lead, or a place at which one is missing (`name` null). */
export interface Seat {
  readonly name: string | null
  readonly lead: Lead
  /** What it is there for, or what nobody is there for. */
  readonly words: readonly string[]
  readonly link: PlaceOnBench['link']
  readonly state: readonly string[]
  readonly needed: boolean
}

const LEADS: Readonly<Record<PlaceOnBench['what'], Lead>> = {
  'RF power': 'aerial',
  frequency: 'aerial',
  'FM deviation': 'aerial',
  'AM depth': 'aerial',
  'RF level': 'aerial',
  'DC voltage': 'board',
  'signal meter': 'board',
  'DC current': 'plug',
  tone: 'microphone',
  'audio level': 'speaker',
  'audio distortion': 'speaker',
  SINAD: 'speaker',
  'audio tone': 'speaker',
}

/** Every instrument once, with all that it measures, and an empty seat for each thing that is needed and nobody is there for. */
export function seatsOf(places: readonly PlaceOnBench[]): readonly Seat[] {
  const names = [...new Set(places.flatMap(({ instrument }) => instrument ?? []))]
  const taken = names.map((name): Seat => {
    const own = places.filter(({ instrument }) => instrument === name)
    const needed = own.some((one) => one.needed)
    const link = own[0]?.link ?? 'none'
    const isolation = own.map(({ isolated }) => isolated).find((one) => one !== 'yes') ?? 'yes'
    const state = [BENCH.state[link], BENCH.isolation[isolation], needed ? '' : BENCH.notNeeded]
    return {
      name,
      lead: LEADS[own[0]?.what ?? 'DC voltage'],
      words: [listed(own.map(({ what }) => placeWords(what)))],
      link,
      state: state.filter((words) => words !== ''),
      needed,
    }
  })
  const empty = places
    .filter(({ instrument, needed }) => instrument === null && needed)
    .map(({ what }): Seat => {
      return { name: null, lead: LEADS[what], words: [emptyPlaceWords(what)], link: 'none', state: [], needed: true }
    })
  return [...taken, ...empty]
}

/** The bench in a line: how many instruments, which do not answer, what nobody is there for. */
export function benchSummary(places: readonly PlaceOnBench[]): string {
  const seats = seatsOf(places)
  const down = seats.flatMap(({ link, name }) => (link === 'down' && name !== null ? [name] : []))
  const missing = places.filter(({ instrument, needed }) => instrument === null && needed).map(({ what }) => what)
  return benchWords(seats.filter(({ name }) => name !== null).length, down, missing)
}

const WIDTH = 1100
const SEAT = { width: 372, gap: 18, inset: 14 } as const
const SET = { left: 430, right: 670 } as const
/** Under the words at the head of the set. */
const TOP = 52
const LETTERS = lettersIn(SEAT.width - 2 * SEAT.inset, { weight: 'bold' })

/** The set in the middle, what goes to its aerial socket at the left, everything else at the right. */
export function benchDrawing(places: readonly PlaceOnBench[]): Drawing {
  const seats = seatsOf(places)
  const left = column(seats.filter(({ lead }) => lead === 'aerial'))
  const right = column(seats.filter(({ lead }) => lead !== 'aerial'))
  const height = Math.max(left.height, right.height, 120)
  return {
    width: WIDTH,
    height: height + 8,
    alternative: seats.map(({ name, words, state }) => seatWords(name, words, state)).join(' '),
    shapes: [
      box('used', { x: SET.left, y: 4, width: SET.right - SET.left, height }, 14),
      ...written([BENCH.set], (SET.left + SET.right) / 2, 40, { weight: 'bold', anchor: 'middle', size: 28 }),
      ...left.rows.map(({ seat, lines, y, tall }) => group('seat', seatShapes({ seat, lines, y, tall }, 'left'))),
      ...right.rows.map(({ seat, lines, y, tall }) => group('seat', seatShapes({ seat, lines, y, tall }, 'right'))),
    ],
  }
}

interface Row {
  readonly seat: Seat
  readonly lines: {
    readonly name: readonly string[]
    readonly words: readonly string[]
    readonly state: readonly string[]
  }
  readonly y: number
  readonly tall: number
}

/** Seats under each other, each as high as its words. */
function column(seats: readonly Seat[]): { readonly rows: readonly Row[]; readonly height: number } {
  let y = TOP
  const rows = seats.map((seat): Row => {
    const split = (texts: readonly string[]) => texts.flatMap((text) => broken(text, LETTERS))
    const lines = {
      name: split(seat.name === null ? [] : [seat.name]),
      words: split(seat.words),
      state: split(seat.state),
    }
    const tall = (lines.name.length + lines.words.length + lines.state.length) * LEADING + 22
    const row = { seat, lines, y, tall }
    y += tall + SEAT.gap
    return row
  })
  return { rows, height: y - SEAT.gap }
}

function seatShapes({ seat, lines, y, tall }: Row, side: 'left' | 'right'): readonly Shape[] {
  const x = side === 'left' ? 4 : WIDTH - 4 - SEAT.width
  const middle = y + tall / 2
  const [from, to, at, anchor] =
    side === 'left'
      ? ([x + SEAT.width, SET.left, SET.left + 18, 'start'] as const)
      : ([SET.right, x, SET.right - 18, 'end'] as const)
  const look: Look = seat.name === null ? 'empty' : !seat.needed ? 'pale' : seat.link === 'down' ? 'plain' : 'used'
  const first = y + 30
  const second = first + lines.name.length * LEADING
  const third = second + lines.words.length * LEADING
  const down = seat.link === 'down'
  const socket = side === 'left' ? SET.left : SET.right
  return [
    box(look, { x, y, width: SEAT.width, height: tall }),
    ...(seat.name === null ? [] : [line(look, `M${from} ${middle}H${to}`)]),
    dot(seat.name === null ? 'pale' : look, socket, middle, 8),
    ...written([BENCH.lead[seat.lead]], at, middle + 7, { anchor, weight: seat.name === null ? 'pale' : 'normal' }),
    ...written(lines.name, x + SEAT.inset, first, { weight: 'bold' }),
    ...written(lines.words, x + SEAT.inset, second, { weight: 'normal' }),
    ...written(lines.state, x + SEAT.inset, third, { weight: down ? 'bold' : 'pale' }),
    // a link that is torn: two ends that do not meet
    ...(down ? [line('used', `M${x + SEAT.width - 64} ${y + 22}h20l-6 8m16 -8h20m-20 0l-6 8`)] : []),
  ]
}
