import { ENGLISH } from '../english/english.ts'
import { type Argument, isSaid, type Said, type Words } from '../said/said.ts'

/** One language: a template for each code. */
export type Dictionary = Readonly<Record<string, string>>

let spoken: Dictionary = ENGLISH

/** Chooses the language of this process or page; to be called once, before anything is said. */
export function speak(language: Dictionary): void {
  spoken = language
}

/** The language that is spoken. */
export function language(): Dictionary {
  return spoken
}

/**
 * Words as a person reads them, in the language that is spoken. A plain text is given back as it is; a code that this version does not
 * know (a newer program said it) is shown with all that it holds.
 *
 *     sentence(said('supply.to', { volts: '15.6 V' })) // "Supply to 15.6 V at the plug"
 */
export function sentence(words: Words, dictionary: Dictionary = spoken): string {
  if (typeof words === 'string') return words
  const template = Object.hasOwn(dictionary, words.said) ? dictionary[words.said] : undefined
  if (template === undefined) return unknown(words, dictionary)
  return template.replace(/\{(\^?)([^{}]+)\}/g, (_, capital: string, place: string) => {
    const text = filled(words.with?.[place] ?? '', dictionary)
    return capital === '' ? text : capitalised(text)
  })
}

/** The first letter large. */
export function capitalised(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1)
}

function filled(argument: Argument, dictionary: Dictionary): string {
  if (typeof argument === 'string') return argument
  if (typeof argument === 'number') return String(argument)
  return isSaid(argument) ? sentence(argument, dictionary) : argument.map((one) => filled(one, dictionary)).join(', ')
}

/** Nothing that was said is hidden because this version has no words for it. */
function unknown({ said, with: places = {} }: Said, dictionary: Dictionary): string {
  const told = Object.entries(places).map(([place, argument]) => `${place} ${filled(argument, dictionary)}`)
  return [`[${said}]`, ...told].join(' ')
}

/** A shape with every sentence in it put into words. */
export type Worded<T> = T extends Said | symbol // a symbol: only where the test of glued words lets words be one
  ? string
  : T extends string | number | boolean | null | undefined | ((...parameters: never[]) => unknown)
    ? T
    : { [K in keyof T]: Worded<T[K]> }

/** Puts every sentence in it into words, however deep; what holds none is given back as it is, not copied. */
export function worded<T>(value: T, dictionary: Dictionary = spoken): Worded<T> {
  return put(value, dictionary, null) as Worded<T>
}

/**
 * The same for shapes that come one after the other and share their parts, as frames share their lists: a part that was put into words once
 * is not looked through again. Only for what never changes once it is made.
 */
export function wordedInTurn(dictionary: Dictionary = spoken): <T>(value: T) => Worded<T> {
  const seen = new WeakMap<object, unknown>()
  return <T>(value: T) => put(value, dictionary, seen) as Worded<T>
}

function put(value: unknown, dictionary: Dictionary, seen: WeakMap<object, unknown> | null): unknown {
  if (typeof value !== 'object' || value === null) return value
  if (Array.isArray(value)) return list(value, dictionary, seen)
  if (isSaid(value)) return sentence(value, dictionary)
  if (Object.getPrototypeOf(value) !== Object.prototype) return value
  const shape: Readonly<Record<string, unknown>> = value as Record<string, unknown>
  let told: Record<string, unknown> | null = null
  for (const key in shape) {
    const one = shape[key]
    if (typeof one !== 'object' || one === null) continue
    const is = put(one, dictionary, seen)
    if (is === one) continue
    told ??= { ...shape }
    told[key] = is
  }
  return told ?? value
}

function list(all: readonly unknown[], dictionary: Dictionary, seen: WeakMap<object, unknown> | null): unknown {
  const before = seen?.get(all)
  if (before !== undefined) return before
  const worded = all.map((one) => put(one, dictionary, seen))
  const told = worded.some((one, at) => one !== all[at]) ? worded : all
  seen?.set(all, told)
  return told
}
