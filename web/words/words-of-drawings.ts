import type { LiveEvent, PlaceOfStep, PlaceOnBench } from '../../src/schema/messages/shown.ts'
import { agoWords, QUANTITY_WORDS } from './words.ts'

/** The drawing of how a step is hooked up. */
export const HOOK_UP = {
  notToEarth: 'NOT TO EARTH',
  load: 'load',
  pad: 'pad',
  nobody: 'nobody',
  noTool: 'no tool',
  componentSide: 'component side',
  solderSide: 'solder side',
  supply: 'supply',
  oscillatorIn: 'oscillator in',
  socketUntouched: 'microphone socket: as it is',
} as const

/** The bench as a drawing. */
export const BENCH = {
  set: 'the set',
  lead: { aerial: 'aerial', board: 'test point', plug: 'plug', microphone: 'microphone', speaker: 'speaker' },
  state: { up: 'answers', down: 'DOES NOT ANSWER', typed: 'read by a person, typed', none: '' },
  tone: 'tone for the microphone',
  isolation: { yes: '', no: 'input not isolated from its link', unknown: 'input isolated from its link? not known' },
  notNeeded: 'no sheet asks for it',
} as const

/** Kinds of places and tools where a sheet says no words of its own. */
const KIND: Readonly<Record<PlaceOfStep['is'], string>> = {
  board: '',
  plug: 'plug',
  strip: 'earth strip',
  solder: HOOK_UP.solderSide,
  component: HOOK_UP.componentSide,
  blade: 'blade',
  'non-metal blade': 'non-metal blade',
  'ceramic blade': 'ceramic blade',
  hexagon: 'hexagon',
  'non-metal': 'non-metal',
  ceramic: 'ceramic',
  oscillator: 'oscillator in, microphone unplugged',
  own: "the set's own",
  shorted: 'oscillator shorted',
  empty: 'oscillator lead off',
  other: '',
}

/** A place of a step: in the sheet's own words, else its kind and the name on the board ("earth strip ES", "T1"). */
export function placeOfStepWords({ is, name, words }: Pick<PlaceOfStep, 'is' | 'name' | 'words'>): string {
  return words || [KIND[is], name].filter((part) => part !== '').join(' ')
}

/** What is measured, as a drawing names it. */
export function placeWords(what: PlaceOnBench['what']): string {
  return what === 'tone' ? BENCH.tone : QUANTITY_WORDS[what]
}

/** "nobody measures power yet: ..." in an empty place of the bench. */
export function emptyPlaceWords(what: PlaceOnBench['what']): string {
  const missing = what === 'tone' ? 'makes a tone' : `measures ${lowered(QUANTITY_WORDS[what])}`
  return `nobody ${missing} yet: add an instrument to the bench file`
}

/** Under the drawing and on the button that opens it: "5 instruments; nobody measures RF power". */
export function benchWords(
  instruments: number,
  down: readonly string[],
  empty: readonly PlaceOnBench['what'][],
): string {
  const missing = empty.map((what) => lowered(placeWords(what)))
  return [
    instruments === 1 ? '1 instrument' : `${instruments} instruments`,
    ...(down.length === 0 ? [] : [`${down.join(', ')} ${down.length === 1 ? 'does' : 'do'} not answer`]),
    ...(missing.length === 0 ? [] : [`nobody for ${missing.join(', ')}`]),
  ].join('; ')
}

/** A word in the middle of a sentence; FM, RF, DC and SINAD stay as they are. */
function lowered(words: string): string {
  return /^[A-Z][a-z]/.test(words) ? words.charAt(0).toLowerCase() + words.slice(1) : words
}

export function padWords(lossDb: number): string {
  return lossDb === 0 ? HOOK_UP.load : `${HOOK_UP.load} + ${HOOK_UP.pad} ${Number(lossDb.toFixed(2))} dB`
}

export function prodWords(place: string): string {
  return `prod on ${place}`
}

export function commonWords(place: string): string {
  return `common on ${place}`
}

/** Sentences of the drawing for who cannot see it; empty ones are left out. */
export const HOOK_UP_SAID = {
  meter: (name: string, prod: string, common: string, side: string) =>
    `${name}: ${[prodWords(prod), common === '' ? '' : commonWords(common), side].filter((part) => part !== '').join(', ')}.`,
  tool: (adjuster: string, tool: string) => `Tool at ${adjuster}${tool === '' ? '' : `: ${tool}`}.`,
  aerial: (load: string, meters: readonly string[]) => `Aerial socket: ${[load, ...meters].join(', ')}.`,
  microphone: (words: string) => `Microphone socket: ${words}.`,
  set: (words: string) => `Set: ${words}.`,
  notToEarth: 'The case is not to be joined to earth.',
} as const

/** What an event is called where it stands in the trace. */
const MARK: Readonly<Partial<Record<LiveEvent['what'], string>>> = {
  captured: 'captured',
  'new best': 'best',
  'passed over': 'over the top',
  'link lost': 'link lost',
  'link back': 'link back',
  stopped: 'supply off',
}

/** The last minutes of a step. */
export const HISTORY = {
  title: 'The last minutes',
  nothing: 'nothing was read in this step yet',
  keyDown: 'key down',
  keyUp: 'key up',
  marked: 'marked',
  now: 'now',
  /** Under the trace: how long ago. */
  before: (seconds: number): string => `−${agoWords(seconds * 1000).replace(/\.\d /, ' ')}`,
  mark: MARK,
  loading: 'The trace is coming.',
  failed: 'The trace could not be loaded: reload the page.',
  told: (said: {
    readonly value: string
    /** Null: it is read now. */
    readonly agoS: number | null
    readonly range: { readonly low: string; readonly high: string } | null
    readonly spanS: number
    readonly keyed: number
  }): string => {
    const age = said.agoS === null ? HISTORY.now : `${agoWords(said.agoS * 1000)} ago`
    const { range } = said
    const span = agoWords(Math.max(1, Math.round(said.spanS)) * 1000).replace(/\.0 /, ' ')
    const between = range === null ? '' : `, between ${range.low} and ${range.high} in the last ${span}`
    const times = said.keyed === 1 ? 'once' : `${said.keyed} times`
    return `${said.value} ${age}${between}${said.keyed === 0 ? '' : `; key down ${times}`}`
  },
} as const
