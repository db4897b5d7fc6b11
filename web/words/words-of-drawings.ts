import type { LiveEvent, PlaceOfStep, PlaceOnBench } from '../../src/schema/messages/shown.ts'
import { agoWords } from './figures.ts'
import { QUANTITY, quantityWords } from './quantities.ts'
import { joined, text } from './text.ts'

/** The drawing of how a step is hooked up. */
export const HOOK_UP = {
  notToEarth: text('hook-up.not-to-earth'),
  nobody: text('hook-up.nobody'),
  noTool: text('hook-up.no-tool'),
  componentSide: text('hook-up.component-side'),
  solderSide: text('hook-up.solder-side'),
  supply: text('hook-up.supply'),
  oscillatorIn: text('hook-up.oscillator-in'),
  socketUntouched: text('hook-up.socket-untouched'),
} as const

/** The bench as a drawing. */
export const BENCH = {
  set: text('bench.set'),
  lead: {
    aerial: text('bench.aerial'),
    board: text('bench.board'),
    plug: text('bench.plug'),
    microphone: text('bench.microphone'),
    speaker: text('bench.speaker'),
  },
  state: { up: text('bench.up'), down: text('bench.down'), typed: text('bench.typed'), none: '' },
  isolation: { yes: '', no: text('bench.not-isolated'), unknown: text('bench.isolation-unknown') },
  notNeeded: text('bench.not-needed'),
} as const

/** Kinds of places and tools where a sheet says no words of its own. */
const KIND: Readonly<Record<PlaceOfStep['is'], string>> = {
  board: '',
  plug: text('place.plug'),
  strip: text('place.strip'),
  solder: text('place.solder'),
  component: text('place.component'),
  blade: text('place.blade'),
  'non-metal blade': text('place.non-metal-blade'),
  'ceramic blade': text('place.ceramic-blade'),
  hexagon: text('place.hexagon'),
  'non-metal': text('place.non-metal'),
  ceramic: text('place.ceramic'),
  oscillator: text('place.oscillator'),
  own: text('place.own-microphone'),
  shorted: text('place.shorted'),
  empty: text('place.empty'),
  other: '',
}

/** A place of a step: in the sheet's own words, else its kind and the name on the board ("earth strip ES", "T1"). */
export function placeOfStepWords({ is, name, words }: Pick<PlaceOfStep, 'is' | 'name' | 'words'>): string {
  const kind = KIND[is]
  return words || (kind !== '' && name !== '' ? text('place.named', { kind, name }) : kind || name)
}

/** What is measured, as a drawing names it. */
export function placeWords(what: PlaceOnBench['what']): string {
  return what === 'tone' ? text('bench.tone') : quantityWords(what)
}

/** "nobody measures power yet: ..." in an empty place of the bench. */
export function emptyPlaceWords(what: PlaceOnBench['what']): string {
  return what === 'tone' ? text('bench.nobody-makes-tone') : text('bench.nobody-measures', { quantity: QUANTITY[what] })
}

/** Under the drawing and on the button that opens it: "5 instruments; nobody for RF power". */
export function benchWords(
  instruments: number,
  down: readonly string[],
  empty: readonly PlaceOnBench['what'][],
): string {
  const missing = empty.map((what) => (what === 'tone' ? text('bench.tone') : QUANTITY[what]))
  return joined('joined.semicolon', [
    instruments === 1 ? text('bench.one-instrument') : text('bench.instruments', { count: instruments }),
    downWords(down),
    missing.length === 0 ? '' : text('bench.nobody-for', { what: listed(missing) }),
  ])
}

function downWords(names: readonly string[]): string {
  const [name = ''] = names
  if (names.length < 2) return name === '' ? '' : text('bench.one-is-down', { name })
  return text('bench.some-are-down', { names: listed(names) })
}

/** An instrument, or a place where one is missing, for who cannot see the drawing. */
export function seatWords(name: string | null, words: readonly string[], state: readonly string[]): string {
  const told = name === null ? listed(words) : text('joined.colon', { what: name, told: listed(words) })
  return text('bench.told', { what: joined('joined.semicolon', [told, ...state]) })
}

/** "RF power, frequency" */
export function listed(parts: readonly string[]): string {
  return joined('joined.comma', parts)
}

export function padWords(lossDb: number): string {
  return lossDb === 0 ? text('hook-up.load') : text('hook-up.load-and-pad', { db: `${Number(lossDb.toFixed(2))} dB` })
}

export function prodWords(place: string): string {
  return text('hook-up.prod-on', { place })
}

export function commonWords(place: string): string {
  return text('hook-up.common-on', { place })
}

/** Sentences of the drawing for who cannot see it; empty ones are left out. */
export const HOOK_UP_SAID = {
  meter: (meter: string, prod: string, common: string, side: string) =>
    text('hook-up.told-meter', {
      meter,
      where: listed([prodWords(prod), common === '' ? '' : commonWords(common), side]),
    }),
  read: (meter: string, what: string) => text('hook-up.told-read', { meter, what }),
  tool: (adjuster: string, tool: string) =>
    tool === '' ? text('hook-up.told-any-tool', { adjuster }) : text('hook-up.told-tool', { adjuster, tool }),
  aerial: (load: string, meters: readonly string[]) => text('hook-up.told-aerial', { what: listed([load, ...meters]) }),
  microphone: (what: string) => text('hook-up.told-microphone', { what }),
  set: (how: string) => text('hook-up.told-set', { how }),
  supply: (meter: string, where: string) => text('hook-up.told-meter', { meter, where }),
  notToEarth: text('hook-up.told-not-to-earth'),
} as const

/** What an event is called where it stands in the trace. */
const MARK: Readonly<Partial<Record<LiveEvent['what'], string>>> = {
  captured: text('history.captured'),
  'new best': text('history.best'),
  'passed over': text('history.over-the-top'),
  'link lost': text('history.link-lost'),
  'link back': text('history.link-back'),
  stopped: text('history.supply-off'),
}

/** The last minutes of a step. */
export const HISTORY = {
  title: text('history.title'),
  nothing: text('history.nothing'),
  keyDown: text('history.key-down'),
  keyUp: text('history.key-up'),
  marked: text('history.marked'),
  now: text('history.now'),
  /** Under the trace: how long ago. */
  before: (seconds: number): string => `−${agoWords(seconds * 1000).replace(/\.\d /, ' ')}`,
  mark: MARK,
  loading: text('history.loading'),
  failed: text('history.failed'),
  told: (said: {
    readonly value: string
    /** Null: it is read now. */
    readonly agoS: number | null
    readonly range: { readonly low: string; readonly high: string } | null
    readonly spanS: number
    readonly keyed: number
  }): string => {
    const { value, agoS, range, keyed } = said
    const read =
      agoS === null
        ? text('history.told-now', { value })
        : text('history.told-ago', { value, time: agoWords(agoS * 1000) })
    const time = agoWords(Math.max(1, Math.round(said.spanS)) * 1000).replace(/\.0 /, ' ')
    const told = range === null ? read : text('history.between', { told: read, ...range, time })
    if (keyed === 0) return told
    return keyed === 1 ? text('history.keyed-once', { told }) : text('history.keyed', { told, times: keyed })
  },
} as const
