import type { Unit } from './quantity.ts'

/** What a spelling is worth in its unit: `times` x 10^`exponent`, or a level in dBm (not a factor at all). */
export type Scale =
  | { readonly kind: 'factor'; readonly times: bigint; readonly exponent: number }
  | { readonly kind: 'dBm' }

/** How one spelling was understood: its scale, or in words what is wrong with it and what would be right. */
export type Spelled = { readonly scale: Scale } | { readonly wrong: string }

const power = (exponent: number, times = 1n): Scale => ({ kind: 'factor', times, exponent })

// Written after `tidy`: u for micro, ohm for the letter omega. The usual spelling stands first, since refusals list them.
// No mHz and no MW, MV, MA: on a radio bench they are only ever MHz, mW, mV, mA mistyped, a million times a million off.
const SPELLINGS: Readonly<Record<Unit, Readonly<Record<string, Scale>>>> = {
  Hz: { Hz: power(0), kHz: power(3), MHz: power(6), GHz: power(9) },
  W: {
    W: power(0),
    mW: power(-3),
    uW: power(-6),
    nW: power(-9),
    pW: power(-12),
    kW: power(3),
    dBm: { kind: 'dBm' },
  },
  V: { V: power(0), mV: power(-3), uV: power(-6), nV: power(-9), kV: power(3), dBm: { kind: 'dBm' } },
  A: { A: power(0), mA: power(-3), uA: power(-6), nA: power(-9) },
  ohm: { ohm: power(0), mohm: power(-3), kohm: power(3), Mohm: power(6) },
  s: { s: power(0), ms: power(-3), us: power(-6), ns: power(-9), min: power(0, 60n) },
  ratio: { '%': power(-2), ppm: power(-6), ppb: power(-9) },
  dB: { dB: power(0) },
  S: { S: power(0) },
}

// What people write out in full, lower case.
const WORDS: Readonly<Record<string, string>> = {
  hertz: 'Hz',
  watt: 'W',
  watts: 'W',
  volt: 'V',
  volts: 'V',
  vdc: 'V',
  amp: 'A',
  amps: 'A',
  ampere: 'A',
  amperes: 'A',
  ohms: 'ohm',
  sec: 's',
  second: 's',
  seconds: 's',
  minute: 'min',
  minutes: 'min',
  percent: '%',
  'per cent': '%',
}

/** One value as people write it, for refusals: "13.8 V". */
export const EXAMPLES: Readonly<Record<Unit, string>> = {
  Hz: '27.205 MHz',
  W: '3.85 W',
  V: '13.8 V',
  A: '250 mA',
  ohm: '100 kohm',
  s: '20 s',
  ratio: '85 %',
  dB: '30.2 dB',
  S: '9 S',
}

/** The right spellings of a unit in a row: "V, mV, uV, nV, kV or dBm". */
export function spellingsOf(unit: Unit): string {
  return inWords(Object.keys(SPELLINGS[unit]))
}

/** Looks up one spelling (tidied: u for micro, ohm in letters). Capitals count: m is milli, M is mega; nothing is guessed. */
export function scaleOf(spelling: string, unit: Unit): Spelled {
  const scale = own(SPELLINGS[unit], spelling)
  if (scale !== undefined) return { scale }
  if (/^dBu(V|$)/i.test(spelling) && unit === 'V')
    return { wrong: `is in ${spelling}, which may mean e.m.f. or p.d.: write uV or dBm across 50 ohm` }

  const meant = lookalikes(spelling, unit)
  if (meant.length > 0) {
    const capitals = /^m/i.test(spelling) && meant.some((right) => right !== 'min' && right[0] !== spelling[0])
    return {
      wrong: `is spelled wrongly: write ${inWords(meant)}, not ${spelling}${capitals ? ' (m is milli, M is mega)' : ''}`,
    }
  }
  const others = Object.keys(SPELLINGS).filter(isUnit)
  const known = others.some(
    (other) => own(SPELLINGS[other], spelling) !== undefined || lookalikes(spelling, other).length > 0,
  )
  const what = known ? `is in ${spelling}, but ${wanted(unit)}` : `has no unit known here (${spelling})`
  return { wrong: `${what}: write ${spellingsOf(unit)}` }
}

function wanted(unit: Unit): string {
  if (unit === 'ratio') return 'a share is wanted'
  return unit === 'S' ? 'S units are wanted' : `${unit} is wanted`
}

function lookalikes(spelling: string, unit: Unit): readonly string[] {
  const lower = spelling.toLowerCase()
  const right = Object.keys(SPELLINGS[unit])
  return right.filter((one) => one.toLowerCase() === lower || own(WORDS, lower) === one)
}

function isUnit(text: string): text is Unit {
  return Object.hasOwn(SPELLINGS, text)
}

// Own keys only: "constructor" is not a unit.
function own<T>(table: Readonly<Record<string, T>>, key: string): T | undefined {
  return Object.hasOwn(table, key) ? table[key] : undefined
}

function inWords(list: readonly string[]): string {
  return list.length < 2 ? list.join('') : `${list.slice(0, -1).join(', ')} or ${list.at(-1)}`
}
