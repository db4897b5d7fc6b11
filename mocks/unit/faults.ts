import type { Clock } from '../../src/system/clock.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { RadioFaultName } from '../plant/radio-faults.ts'

/**
 * What can go wrong with a simulated instrument and its link. `strikes` says what it changes: a reply on its way out, the
 * value of a measurement, a setting, the link, or the instrument itself; `ms` is the usual length where there is one.
 */
export const INSTRUMENT_FAULTS = {
  silent: { strikes: 'reply', words: 'does what it is told and sends nothing', ms: 0 },
  late: { strikes: 'reply', words: 'sends the reply this much later', ms: 2500 },
  'half line': { strikes: 'reply', words: 'sends the first half of the reply and no terminator', ms: 0 },
  'wrong terminator': { strikes: 'reply', words: 'ends the reply with a carriage return alone', ms: 0 },
  'stray byte': { strikes: 'reply', words: 'puts a byte that means nothing before the reply', ms: 0 },
  twice: { strikes: 'reply', words: 'sends the reply twice in one write', ms: 0 },
  echo: { strikes: 'reply', words: 'sends the question back before the reply', ms: 0 },
  pieces: { strikes: 'reply', words: 'sends the reply in pieces of three bytes, this far apart', ms: 4 },
  overrange: { strikes: 'measurement', words: 'answers 9.9E+37', ms: 0 },
  'frozen value': { strikes: 'measurement', words: 'repeats the last value, whatever is there', ms: 0 },
  blank: { strikes: 'measurement', words: 'answers with the terminator alone', ms: 0 },
  'lead pickup': { strikes: 'measurement', words: 'radio frequency on the lead adds up to 80 mV while keyed', ms: 0 },
  'partial gate': {
    strikes: 'measurement',
    words: 'counts what there was of a carrier during the gate, and calls it a frequency',
    ms: 0,
  },
  'queue error': { strikes: 'setting', words: 'refuses the setting and queues an error', ms: 0 },
  'reset in mid-run': {
    strikes: 'itself',
    words: 'resets itself while the link stays: settings back to those of power-on, what it worked on is lost',
    ms: 0,
  },
  unplugged: { strikes: 'link', words: 'the link is gone for this long', ms: 5000 },
  'power cycle': {
    strikes: 'link',
    words: 'switched off and on: link gone, settings back to those of power-on',
    ms: 3000,
  },
} as const satisfies Record<
  string,
  { strikes: 'reply' | 'measurement' | 'setting' | 'link' | 'itself'; words: string; ms: number }
>

export type InstrumentFault = keyof typeof INSTRUMENT_FAULTS

/** When a fault strikes. Clock times in ms; `keyed` is while the set transmits. */
export type FaultWhen =
  | { readonly kind: 'always' }
  | { readonly kind: 'next'; readonly times: number }
  | { readonly kind: 'chance'; readonly share: number }
  | { readonly kind: 'between'; readonly fromMs: number; readonly toMs: number }
  | { readonly kind: 'keyed' }

/** One switch of the board. */
export interface FaultSetting {
  readonly instrument: string
  readonly fault: InstrumentFault
  readonly when: FaultWhen
  /** Delay or length, ms. */
  readonly ms: number
  /** The error number that `queue error` queues. */
  readonly code: number
}

/** The switchboard: faults by instrument name and fault name. Faults of the link and of the instrument itself act the moment they are switched on. */
export interface FaultBoard {
  set(
    instrument: string,
    fault: InstrumentFault,
    when?: FaultWhen,
    more?: { readonly ms?: number; readonly code?: number },
  ): void
  /** Off: one fault, all of one instrument, or all. */
  clear(instrument?: string, fault?: InstrumentFault): void
  list(): readonly FaultSetting[]
  /** Whether the fault strikes now; a `next` is used up by it. */
  strikes(instrument: string, fault: InstrumentFault): FaultSetting | null
  /** Told of faults that act at once. */
  onLink(listener: (setting: FaultSetting) => void): void
}

/** The switchboard of the bench: instruments, links and the radio itself. */
export interface BenchFaults extends FaultBoard {
  radio(fault: RadioFaultName, on: boolean): void
  radioList(): readonly RadioFaultName[]
}

/** Whether something names an instrument fault. */
export function isInstrumentFault(value: unknown): value is InstrumentFault {
  return typeof value === 'string' && Object.hasOwn(INSTRUMENT_FAULTS, value)
}

const ACT_AT_ONCE: ReadonlySet<string> = new Set(['link', 'itself'])

/** A board with every switch off. `keyed` tells whether the set transmits now. */
export function createFaultBoard(clock: Clock, rng: Rng, keyed: () => boolean): FaultBoard {
  const switches = new Map<string, { setting: FaultSetting; left: number }>()
  const listeners: ((setting: FaultSetting) => void)[] = []
  const nameOf = (instrument: string, fault: string) => `${instrument}\n${fault}`
  const now = (when: FaultWhen): boolean => {
    switch (when.kind) {
      case 'always':
      case 'next':
        return true
      case 'chance':
        return rng() < when.share
      case 'between':
        return clock.nowMs() >= when.fromMs && clock.nowMs() < when.toMs
      case 'keyed':
        return keyed()
      default:
        return when satisfies never
    }
  }
  return {
    set: (instrument, fault, when = { kind: 'always' }, more = {}) => {
      const setting = { instrument, fault, when, ms: more.ms ?? INSTRUMENT_FAULTS[fault].ms, code: more.code ?? -200 }
      if (ACT_AT_ONCE.has(INSTRUMENT_FAULTS[fault].strikes)) {
        for (const listener of listeners) listener(setting)
        return
      }
      switches.set(nameOf(instrument, fault), {
        setting,
        left: when.kind === 'next' ? when.times : Number.POSITIVE_INFINITY,
      })
    },
    clear: (instrument, fault) => {
      for (const [name, { setting }] of switches)
        if (
          (instrument === undefined || setting.instrument === instrument) &&
          (fault === undefined || setting.fault === fault)
        )
          switches.delete(name)
    },
    list: () => [...switches.values()].map(({ setting }) => setting),
    strikes: (instrument, fault) => {
      if (switches.size === 0) return null
      const name = nameOf(instrument, fault)
      const found = switches.get(name)
      if (!found || !now(found.setting.when)) return null
      found.left -= 1
      if (found.left <= 0) switches.delete(name)
      return found.setting
    },
    onLink: (listener) => {
      listeners.push(listener)
    },
  }
}
