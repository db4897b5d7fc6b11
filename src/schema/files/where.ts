import { z } from 'zod'
import type { FieldFault } from '../door/field-fault.ts'
import { quantityText } from '../door/fields.ts'
import { nearest } from '../door/nearest.ts'
import { PLACE_KINDS, type Place, type PlaceKind, type PlaceName } from '../kept/place-kind.ts'

const words = z.string().trim().min(1)
const printed = z.string().regex(/^[A-Za-z][A-Za-z0-9]{0,5}$/, 'a name as printed on the board, for example T1')

/** "T1", "TP12": a point of the board by the name that is printed there, and nothing else. */
const POINT = /^[A-Z]{1,4}\d{0,3}$/
/** "earth strip ES", "ES": what sheets had before there were kinds. */
const STRIP = /^(?:earth strip (?<name>[A-Z]{1,3}\d?)|(?<alone>ES))$/

const named = <const Kind extends string>(is: Kind, name: string) => ({ is, name, words: '' })

/** A place in words: one of the kinds by its own name or by a phrase that sheets had before there were kinds, else `other`. */
const inWords = <const Name extends PlaceName>(name: Name) => words.transform((text) => plainPlace(name, text))

const Prod = z.union([
  words.transform((text) => {
    const place = plainPlace('prod', text)
    return place.is === 'other' && POINT.test(text) ? named('board', text) : place
  }),
  z
    .strictObject({ on: z.enum(PLACE_KINDS.prod), name: printed.optional(), words: words.optional() })
    .transform(({ on, name = '', words: said = '' }, ctx): Place<'prod'> => {
      if (on === 'board' && name === '' && said === '')
        ctx.addIssue({ code: 'custom', path: ['on'], message: 'says on the board and not where: add name or words' })
      return { is: on, name, words: said }
    }),
])

const Common = z.union([
  words.transform((text) => {
    const { name, alone = name } = STRIP.exec(text)?.groups ?? {}
    return alone === undefined ? plainPlace('common', text) : named('strip', alone)
  }),
  z
    .strictObject({ on: z.enum(PLACE_KINDS.common), name: printed.optional(), words: words.optional() })
    .transform(({ on, name = '', words: said = '' }): Place<'common'> => ({ is: on, name, words: said })),
])

const Microphone = z.union([
  inWords('microphone'),
  z
    .strictObject({ holds: z.enum(PLACE_KINDS.microphone), words: words.optional() })
    .transform(({ holds, words: said = '' }): Place<'microphone'> => ({ is: holds, name: '', words: said })),
])

/** What an adjuster is turned with, and the way in. */
export const ToolOfSheet = z.union([
  inWords('tool'),
  z
    .strictObject({ kind: z.enum(PLACE_KINDS.tool), words: words.optional() })
    .transform(({ kind, words: said = '' }): Place<'tool'> => ({ is: kind, name: '', words: said })),
])

/** Where hands and leads go in a step, each place by its kind or in the sheet's own words. `series`: a resistor at the prod, ohm. */
export const Where = z.strictObject({
  prod: Prod.optional(),
  common: Common.optional(),
  series: quantityText('ohm').optional(),
  side: inWords('side').optional(),
  set: inWords('set').optional(),
  tool: ToolOfSheet.optional(),
  microphone: Microphone.optional(),
})
export type Where = z.infer<typeof Where>

/** Phrases, whole and in small letters, that sheets had before there were kinds: what each of them means is known. */
const PHRASES: { readonly [Name in PlaceName]: Readonly<Record<string, PlaceKind<Name>>> } = {
  prod: { 'supply terminals': 'plug' },
  common: { 'earth strip': 'strip' },
  side: { 'solder side': 'solder', 'component side': 'component' },
  set: {},
  tool: { 'small blade': 'blade', 'flat blade': 'blade' },
  microphone: {
    'oscillator in': 'oscillator',
    'oscillator in, microphone unplugged': 'oscillator',
    'oscillator lead off': 'empty',
    unplugged: 'empty',
    nothing: 'empty',
    'oscillator shorted': 'shorted',
    "the set's own": 'own',
  },
}

/** Nothing is made of a part of the words: they are a kind, one of the phrases, a name as printed on the board, or `other`. */
function plainPlace<Name extends PlaceName>(what: Name, text: string): Place<Name> {
  const said = text.toLowerCase()
  const kind = kindsOf(what).find((one) => one === said)
  if (kind !== undefined) return { is: kind, name: '', words: '' }
  const phrase = Object.hasOwn(PHRASES[what], said) ? PHRASES[what][said] : undefined
  return { is: phrase ?? 'other', name: '', words: text }
}

function kindsOf<Name extends PlaceName>(what: Name): readonly PlaceKind<Name>[] {
  return PLACE_KINDS[what]
}

/**
 * A place that a sheet says in one word, which is no kind and nearly one: "soldr". Asked of files at the door only, since what stands in
 * records is read as it was written; two words or more are the sheet's own, whatever they say.
 */
export function misspeltPlaces({ steps, adjusters }: SaysPlaces): readonly FieldFault[] {
  const inSteps = steps.flatMap((step, at) =>
    'where' in step ? NAMES.flatMap((what) => misspelt(what, step.where[what], ['steps', at, 'where', what])) : [],
  )
  const tools = Object.entries(adjusters).flatMap(([label, { tool }]) =>
    misspelt('tool', tool, ['adjusters', label, 'tool']),
  )
  return [...inSteps, ...tools]
}

interface SaysPlaces {
  readonly steps: readonly ({ readonly kind: string } | { readonly kind: string; readonly where: Where })[]
  readonly adjusters: Readonly<Record<string, { readonly tool?: Place<'tool'> | undefined }>>
}

const NAMES = Object.keys(PLACE_KINDS) as readonly PlaceName[] // its own keys, written above

function misspelt(what: PlaceName, said: Said | undefined, path: FieldFault['path']): readonly FieldFault[] {
  if (said?.is !== 'other' || /\s/.test(said.words)) return []
  const kinds = kindsOf(what)
  const near = nearest(said.words, kinds)
  if (near === undefined) return []
  const words = `read "${said.words}"; expected one of: ${kinds.join(', ')}, or words of your own; did you mean "${near}"?`
  return [{ path, at: 'value', words }]
}

type Said = Pick<Place<PlaceName>, 'is' | 'words'>
