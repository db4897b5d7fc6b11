import { compilePattern, type HeaderPattern, type Parse } from './command-parser.ts'
import { nr3, parseBoolean, parseNumber, type SuffixUnit } from './program-data.ts'

/** What a command comes to: a reply, nothing to say, or an error for the queue (and nothing sent). */
export type Answer =
  | { readonly kind: 'reply'; readonly text: string }
  | { readonly kind: 'done' }
  | { readonly kind: 'error'; readonly code: number }

/** A row of an instrument's command table. Settings may be refused by a fault; measurements have values that a fault may change. */
export type Command =
  | {
      readonly kind: 'query' | 'setting'
      readonly pattern: HeaderPattern
      readonly run: (parameters: readonly string[]) => Answer
    }
  | {
      readonly kind: 'measurement'
      readonly pattern: HeaderPattern
      readonly fresh: boolean
      readonly meter: Measurement
    }

/** Something an instrument measures. NaN stands for "no signal", infinity for "over range". */
export interface Measurement {
  /** Digits behind the point of the mantissa. */
  readonly digits: number
  /** A new measurement, complete when the promise resolves. */
  readonly take: (signal: AbortSignal) => Promise<readonly number[]>
  /** The error number with which it is refused now, before anything is measured; `fresh`: a new measurement, not the last again. */
  readonly refuses?: (fresh: boolean) => Refusal
}

/** The error number with which an instrument refuses, or nothing. */
export type Refusal = number | undefined

const DONE: Answer = { kind: 'done' }

function failed(code: number): Answer {
  return { kind: 'error', code }
}

/** A question without parameters. */
export function query(pattern: string, reply: () => string): Command {
  return {
    kind: 'query',
    pattern: compilePattern(pattern),
    run: (parameters) => (parameters.length > 0 ? failed(-108) : { kind: 'reply', text: reply() }),
  }
}

/** A command without parameters; it may answer with an error number. */
export function event(pattern: string, act: () => Refusal): Command {
  return {
    kind: 'setting',
    pattern: compilePattern(pattern),
    run: (parameters) => (parameters.length > 0 ? failed(-108) : outcome(act())),
  }
}

/** A number that is set and asked for. */
export interface NumberSetting {
  readonly unit: SuffixUnit
  readonly low: number
  readonly high: number
  readonly preset: number
  readonly digits: number
  readonly get: () => number
  /** May refuse with an error number. */
  readonly set: (value: number) => Refusal
}

/** `PATTERN n` and `PATTERN?`; both know MINimum, MAXimum and DEFault. Out of range is -222 and changes nothing. */
export function numberPair(pattern: string, setting: NumberSetting): readonly Command[] {
  const limit = (word: string): number | null => {
    const upper = word.toUpperCase()
    if (upper === 'MIN' || upper === 'MINIMUM') return setting.low
    if (upper === 'MAX' || upper === 'MAXIMUM') return setting.high
    return upper === 'DEF' || upper === 'DEFAULT' ? setting.preset : null
  }
  return [
    {
      kind: 'setting',
      pattern: compilePattern(pattern),
      run: (parameters) =>
        withOne(parameters, (text) => {
          const known = limit(text)
          const parsed = known === null ? parseNumber(text, setting.unit) : { ok: true as const, value: known }
          if (!parsed.ok) return failed(parsed.error)
          if (parsed.value < setting.low || parsed.value > setting.high) return failed(-222)
          return outcome(setting.set(parsed.value))
        }),
    },
    {
      kind: 'query',
      pattern: compilePattern(`${pattern}?`),
      run: (parameters) => {
        const [word, more] = parameters
        if (more !== undefined) return failed(-108)
        const value = word === undefined ? setting.get() : limit(word)
        return value === null ? failed(-224) : { kind: 'reply', text: nr3(value, setting.digits) }
      },
    },
  ]
}

/** A register: `PATTERN n` and `PATTERN?` with an NR1 reply, 0 to `high`. */
export function integerPair(
  pattern: string,
  high: number,
  get: () => number,
  set: (value: number) => void,
): readonly Command[] {
  return [
    {
      kind: 'setting',
      pattern: compilePattern(pattern),
      run: (parameters) =>
        withOne(parameters, (text) => {
          const parsed = parseNumber(text, 'none')
          if (!parsed.ok) return failed(parsed.error)
          const value = Math.round(parsed.value)
          if (value < 0 || value > high) return failed(-222)
          set(value)
          return DONE
        }),
    },
    query(`${pattern}?`, () => String(get())),
  ]
}

/** On or off: `PATTERN 1|0|ON|OFF` and `PATTERN?`, which answers 1 or 0. */
export function booleanPair(pattern: string, get: () => boolean, set: (on: boolean) => Refusal): readonly Command[] {
  return [parsedSetting(pattern, parseBoolean, set), query(`${pattern}?`, () => (get() ? '1' : '0'))]
}

/** One of a few words: `PATTERN WORD` and `PATTERN?`; another word is -224. */
export function choicePair<T extends string>(
  pattern: string,
  words: readonly T[],
  get: () => T,
  set: (word: T) => void,
): readonly Command[] {
  const parse = (text: string): Parse<T> => {
    const word = words.find((one) => one === text.toUpperCase())
    return word === undefined ? { ok: false, error: -224 } : { ok: true, value: word }
  }
  return [
    parsedSetting(pattern, parse, (word) => {
      set(word)
    }),
    query(`${pattern}?`, get),
  ]
}

function parsedSetting<T>(pattern: string, parse: (text: string) => Parse<T>, set: (value: T) => Refusal): Command {
  return {
    kind: 'setting',
    pattern: compilePattern(pattern),
    run: (parameters) =>
      withOne(parameters, (text) => {
        const parsed = parse(text)
        return parsed.ok ? outcome(set(parsed.value)) : failed(parsed.error)
      }),
  }
}

/** READ and MEASure start a new measurement, FETCh repeats the last (-230 before the first). `what` follows the verb: ":FM[:DEViation]?". */
export function measurement(what: string, meter: Measurement): readonly Command[] {
  const of = (verb: string, fresh: boolean): Command => ({
    kind: 'measurement',
    pattern: compilePattern(`${verb}[:SCALar]${what}`),
    fresh,
    meter,
  })
  return [of('READ', true), of('MEASure', true), of('FETCh', false)]
}

function withOne(parameters: readonly string[], act: (text: string) => Answer): Answer {
  const [one, more] = parameters
  if (one === undefined) return failed(-109)
  return more === undefined ? act(one) : failed(-108)
}

function outcome(code: Refusal): Answer {
  return typeof code === 'number' ? failed(code) : DONE
}
