import { isAdjuster } from '../plant/adjusters.ts'
import { isBandId } from '../plant/channels.ts'
import { isRadioFault } from '../plant/radio-faults.ts'
import { hasSetting, type SimulatedSet } from '../plant/simulated-set.ts'
import type { BenchFaults, FaultWhen } from '../unit/faults.ts'
import { isInstrumentFault } from '../unit/faults.ts'

/**
 * What the set's page, or a test, may say over the set's socket, one JSON object a message, no other fields:
 *
 * | kind | fields |
 * | --- | --- |
 * | `turn` | `adjuster`, `by` (turns, or shares of 270 degrees) |
 * | `hand` | `adjuster` or null |
 * | `key` | `down` |
 * | `channel` | `channel` |
 * | `mode` | `mode`: FM, AM |
 * | `prod`, `common` | `place`: plug, T1, off; strip, case, off |
 * | `microphone` | `what`: oscillator, own, nothing |
 * | `whistle`, `load`, `cover` | `on` |
 * | `band` | `band`: cept, de-low, uk |
 * | `setting` | `name`, `value`, in the words of the set's display |
 * | `fault` | `instrument`, `fault`, and optionally `when`, `ms`, `code` |
 * | `fault off` | optionally `instrument`, `fault` |
 * | `radio fault` | `fault`, `on` |
 *
 * Does it and returns null, or does nothing and returns what is wrong, in words.
 */
export function obeySetMessage(text: string, set: SimulatedSet, faults: BenchFaults): string | null {
  const message = objectOf(text)
  if (!message) return 'not a JSON object'
  const read = reader(message)
  const kind = read.one('kind', isKind, KINDS.join(', '))
  const act = kind === null ? null : HANDLERS[kind](read, set, faults)
  const wrong = read.wrong()
  if (wrong !== '') return wrong
  act?.()
  return null
}

type Act = () => void
type Handler = (read: Reader, set: SimulatedSet, faults: BenchFaults) => Act | null

/** Reads the fields it needs and returns what to do; whether the fields were good is asked afterwards, once. */
const HANDLERS = {
  turn: (read, set) => {
    const adjuster = read.one('adjuster', isAdjuster, 'an adjuster')
    const by = read.one('by', isTurn, 'a number of turns, at most 2')
    return adjuster === null || by === null ? null : () => set.turn(adjuster, by)
  },
  hand: (read, set) => {
    const adjuster = read.optional('adjuster', isAdjuster, 'an adjuster or null')
    return () => set.hand(adjuster)
  },
  key: (read, set) => onOff(read, 'down', (down) => set.key(down)),
  channel: (read, set) => {
    const channel = read.one('channel', isChannel, 'a channel number')
    return channel === null ? null : () => set.channel(channel)
  },
  mode: (read, set) => choice(read, 'mode', ['FM', 'AM'] as const, (mode) => set.mode(mode)),
  prod: (read, set) => choice(read, 'place', ['plug', 'T1', 'off'] as const, (place) => set.prod(place)),
  common: (read, set) => choice(read, 'place', ['strip', 'case', 'off'] as const, (place) => set.common(place)),
  microphone: (read, set) =>
    choice(read, 'what', ['oscillator', 'own', 'nothing'] as const, (what) => set.microphone(what)),
  whistle: (read, set) => onOff(read, 'on', (on) => set.whistle(on)),
  load: (read, set) => onOff(read, 'on', (on) => set.load(on)),
  cover: (read, set) => onOff(read, 'on', (on) => set.cover(on)),
  band: (read, set) => {
    const band = read.one('band', isBandId, 'a band')
    return band === null ? null : () => set.powerOnBand(band)
  },
  setting: (read, set) => {
    const name = read.one('name', isText, 'a setting')
    const isValue = (value: unknown): value is string => name !== null && isText(value) && hasSetting(name, value)
    const value = read.one('value', isValue, 'what the set offers for it')
    return name === null || value === null ? null : () => set.setting(name, value)
  },
  fault: (read, _set, faults) => {
    const instrument = read.one('instrument', isText, 'an instrument')
    const fault = read.one('fault', isInstrumentFault, 'a fault')
    const when = read.optional('when', isWhen, 'a time such as {"kind":"always"}')
    const ms = read.optional('ms', isPositive, 'milliseconds')
    const code = read.optional('code', isFiniteNumber, 'an error number')
    const more = { ...(ms === null ? {} : { ms }), ...(code === null ? {} : { code }) }
    return instrument === null || fault === null
      ? null
      : () => faults.set(instrument, fault, when ?? { kind: 'always' }, more)
  },
  'fault off': (read, _set, faults) => {
    const instrument = read.optional('instrument', isText, 'an instrument')
    const fault = read.optional('fault', isInstrumentFault, 'a fault')
    return () => faults.clear(instrument ?? undefined, fault ?? undefined)
  },
  'radio fault': (read, _set, faults) => {
    const fault = read.one('fault', isRadioFault, 'a fault of the radio')
    return onOff(read, 'on', (on) => {
      if (fault !== null) faults.radio(fault, on)
    })
  },
} as const satisfies Record<string, Handler>

type Kind = keyof typeof HANDLERS
const KINDS = Object.keys(HANDLERS)

function isKind(value: unknown): value is Kind {
  return typeof value === 'string' && Object.hasOwn(HANDLERS, value)
}

function onOff(read: Reader, field: string, act: (on: boolean) => void): Act | null {
  const on = read.one(field, isBoolean, 'true or false')
  return on === null ? null : () => act(on)
}

function choice<T extends string>(
  read: Reader,
  field: string,
  words: readonly T[],
  act: (word: T) => void,
): Act | null {
  const isWord = (value: unknown): value is T => words.some((word) => word === value)
  const word = read.one(field, isWord, words.join(', '))
  return word === null ? null : () => act(word)
}

interface Reader {
  /** The field, or null and a complaint. */
  one<T>(field: string, check: (value: unknown) => value is T, wanted: string): T | null
  /** The field, null where it is null or missing, or null and a complaint. */
  optional<T>(field: string, check: (value: unknown) => value is T, wanted: string): T | null
  /** Every field that is missing, misshapen or unknown, or "". */
  wrong(): string
}

function reader(message: ReadonlyMap<string, unknown>): Reader {
  const known = new Set<string>()
  const complaints: string[] = []
  const one: Reader['one'] = (field, check, wanted) => {
    known.add(field)
    const value = message.get(field)
    if (check(value)) return value
    complaints.push(`${field}: wants ${wanted}`)
    return null
  }
  return {
    one,
    optional: (field, check, wanted) => {
      known.add(field)
      const value = message.get(field)
      return value === undefined || value === null ? null : one(field, check, wanted)
    },
    wrong: () => {
      for (const field of message.keys()) if (!known.has(field)) complaints.push(`${field}: not known here`)
      return complaints.join('; ')
    },
  }
}

function objectOf(text: string): ReadonlyMap<string, unknown> | null {
  try {
    const parsed: unknown = JSON.parse(text)
    return isObject(parsed) ? new Map(Object.entries(parsed)) : null
  } catch {
    // What is not JSON is answered in words by the caller.
    return null
  }
}

function isObject(value: unknown): value is object {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}

function isText(value: unknown): value is string {
  return typeof value === 'string' && value.length <= 40
}

function isBoolean(value: unknown): value is boolean {
  return typeof value === 'boolean'
}

function isFiniteNumber(value: unknown): value is number {
  return typeof value === 'number' && Number.isFinite(value)
}

function isPositive(value: unknown): value is number {
  return isFiniteNumber(value) && value > 0
}

/** No hand turns further at a time. */
function isTurn(value: unknown): value is number {
  return isFiniteNumber(value) && Math.abs(value) <= 2
}

function isChannel(value: unknown): value is number {
  return isFiniteNumber(value) && Number.isInteger(value) && value >= 1 && value <= 99
}

function isWhen(value: unknown): value is FaultWhen {
  if (!isObject(value)) return false
  const fields = new Map<string, unknown>(Object.entries(value))
  const has = (...names: readonly string[]) =>
    fields.size === names.length + 1 && names.every((name) => isFiniteNumber(fields.get(name)))
  switch (fields.get('kind')) {
    case 'always':
    case 'keyed':
      return has()
    case 'next':
      return has('times')
    case 'chance':
      return has('share')
    case 'between':
      return has('fromMs', 'toMs')
    default:
      return false
  }
}
