import type { Quantity } from '../../src/quantity/quantity.ts'
import type { PlaceOfStep, PlaceOnBench, StepView } from '../../src/schema/messages/shown.ts'
import { broken, lettersIn } from '../measure/letters.ts'
import { commonWords, listed, placeOfStepWords, placeWords, prodWords } from '../words/words-of-drawings.ts'

/** An instrument at a lead: its name (null: nobody is there), what it is read for, and whether this step uses it. */
export interface AtLead {
  readonly name: string | null
  readonly what: string
  readonly used: boolean
}

type PlaceOn<What extends PlaceOfStep['what']> = Extract<PlaceOfStep, { what: What }>

/** What sits in the microphone socket. `other`: something that is named in words only; `untouched`: the step does not say. */
export type InSocket = PlaceOn<'microphone'>['is'] | 'untouched'

/** Who and what goes where in one step: nothing of it is a place on the screen yet. */
export interface HookUp {
  readonly adjuster: string
  /** Kind of tool, and what the step says of its way in; "" where nothing is turned. */
  readonly tool: string
  /** How the set lies or stands. */
  readonly set: string
  readonly floating: boolean
  readonly side: 'solder' | 'component' | ''
  /** The tool ends in a flat blade; others are drawn with a point. */
  readonly blade: boolean
  readonly prod: {
    readonly meter: AtLead | null
    readonly place: string
    /** At the plug of the set, on its board, or at a place that is named in words only. */
    readonly at: PlaceOn<'prod'>['is']
    readonly common: string
    /** The common goes to a strip along the board; its short name, or "". */
    readonly strip: boolean
    readonly stripName: string
  }
  readonly aerial: { readonly used: boolean; readonly lossDb: number; readonly meters: readonly AtLead[] }
  readonly microphone: { readonly holds: InSocket; readonly words: string; readonly oscillator: string | null }
  readonly speaker: readonly AtLead[]
  readonly supply: AtLead
  /** Rows of the step that stand in the drawing word for word, and need not be written beside it. */
  readonly said: readonly string[]
  /** Rows that stand in the drawing shortened. */
  readonly cut: readonly string[]
}

/** Room for words in the drawing, in letters of its type. */
export const ROOM = {
  tool: { letters: lettersIn(206), lines: 3 },
  prod: { letters: lettersIn(190, { weight: 'bold' }), lines: 2 },
  common: { letters: lettersIn(190), lines: 2 },
  set: { letters: lettersIn(270), lines: 2 },
  microphone: { letters: lettersIn(676), lines: 1 },
} as const

const AT_AERIAL: readonly Quantity[] = ['RF power', 'frequency', 'FM deviation', 'AM depth']
const AT_SPEAKER: readonly Quantity[] = ['audio level', 'audio distortion', 'SINAD', 'audio tone']

/** How a step is hooked up, from what it says and who is on the bench; null for a step with nothing to hook up. */
export function hookUpOf(step: StepView, places: readonly PlaceOnBench[]): HookUp | null {
  if (step.reads.length === 0 && step.where.length === 0) return null
  const side = placeIn(step, 'side')
  const words = {
    prod: wordsIn(step, 'prod'),
    common: wordsIn(step, 'common'),
    set: wordsIn(step, 'set'),
    tool: step.adjuster === '' ? '' : toolWords(step),
    microphone: wordsIn(step, 'microphone'),
  }
  const written = (['prod', 'common', 'set', 'tool', 'microphone'] as const).filter((what) => words[what] !== '')
  const drawn = { ...words, prod: prodWords(words.prod), common: commonWords(words.common) }
  const fitting = written.filter((what) => fits(drawn[what], ROOM[what]))
  return {
    adjuster: step.adjuster,
    tool: words.tool,
    set: words.set,
    floating: step.floating,
    side: side === undefined || side.is === 'other' ? '' : side.is,
    blade: isBlade(step),
    prod: {
      meter: words.prod === '' ? unused('DC voltage', places) : atLead(step, 'DC voltage', places),
      place: words.prod,
      at: placeIn(step, 'prod')?.is ?? 'board',
      common: words.common,
      strip: placeIn(step, 'common')?.is === 'strip',
      stripName: placeIn(step, 'common')?.name ?? '',
    },
    aerial: {
      used: step.transmit === 'transmit',
      lossDb: places.find(({ what }) => what === 'RF power')?.lossDb ?? 0,
      meters: instrumentsAt(AT_AERIAL, step, places),
    },
    microphone: {
      holds: placeIn(step, 'microphone')?.is ?? (step.tone === '' ? 'untouched' : 'oscillator'),
      words: words.microphone,
      oscillator: places.find(({ what }) => what === 'tone')?.instrument ?? null,
    },
    speaker: instrumentsAt(AT_SPEAKER, step, places).filter(({ used }) => used),
    supply: atLead(step, 'DC current', places) ?? { name: null, what: '', used: false },
    said: side === undefined || side.is === 'other' ? fitting : [...fitting, 'side'],
    cut: written.filter((what) => !fitting.includes(what)),
  }
}

function fits(text: string, room: { readonly letters: number; readonly lines: number }): boolean {
  return broken(text, room.letters).length <= room.lines
}

function placeIn<What extends PlaceOfStep['what']>(step: StepView, what: What): PlaceOn<What> | undefined {
  return step.where.find((place): place is PlaceOn<What> => place.what === what)
}

function wordsIn(step: StepView, what: PlaceOfStep['what']): string {
  const place = placeIn(step, what)
  return place === undefined ? '' : placeOfStepWords(place)
}

/** The adjuster's tool first, then what the step says of its way in; a step that says the same again says it once. */
function toolWords(step: StepView): string {
  const own = step.tool === null ? '' : placeOfStepWords(step.tool)
  const way = wordsIn(step, 'tool')
  return listed([own, way === own ? '' : way])
}

const BLADES: readonly PlaceOn<'tool'>['is'][] = ['blade', 'non-metal blade', 'ceramic blade']

/** The step's own tool where it names one, else the adjuster's. */
function isBlade(step: StepView): boolean {
  const own = placeIn(step, 'tool')?.is ?? 'other'
  const kind = own === 'other' ? step.tool?.is : own
  return kind !== undefined && BLADES.includes(kind)
}

/** The instrument that a quantity of the step is read with, or, where it reads no such thing, the one that could. */
function atLead(step: StepView, quantity: Quantity, places: readonly PlaceOnBench[]): AtLead | null {
  const read = step.reads.find((one) => one.quantity === quantity)
  if (read === undefined) return unused(quantity, places)
  return { name: read.instrument, what: placeWords(quantity), used: true }
}

function unused(quantity: Quantity, places: readonly PlaceOnBench[]): AtLead | null {
  const name = places.find(({ what }) => what === quantity)?.instrument ?? null
  return name === null ? null : { name, what: placeWords(quantity), used: false }
}

/** One box per instrument; where it is read for several things in this step, it says them all. */
function instrumentsAt(
  quantities: readonly Quantity[],
  step: StepView,
  places: readonly PlaceOnBench[],
): readonly AtLead[] {
  const all = quantities.flatMap((quantity) => atLead(step, quantity, places) ?? [])
  const names = [...new Set(all.map(({ name }) => name))]
  return names.flatMap((name) => {
    const own = all.filter((one) => one.name === name)
    const read = own.filter(({ used }) => used)
    if (name === null) return read
    return [{ name, what: listed((read.length > 0 ? read : own).map(({ what }) => what)), used: read.length > 0 }]
  })
}
