import type { Parse } from './command-parser.ts'

/** Units that a number may carry on its way in. */
export type SuffixUnit = 'HZ' | 'V' | 'A' | 'W' | 'S' | 'OHM' | 'ratio' | 'dBm' | 'none'

/** Reads a decimal or #H, #Q, #B number with a suffix of `unit` (IEEE 488.2, 7.7.2 to 7.7.4). Errors -104, -120, -121, -123, -124, -131, -134, -138. */
export function parseNumber(text: string, unit: SuffixUnit): Parse<number> {
  const written = text.trim()
  if (written.startsWith('#')) return nonDecimal(written)
  const found = DECIMAL.exec(written)
  const mantissa = found?.[1]
  if (!found || mantissa === undefined)
    return refused(/^[A-Za-z"'(]/.test(written) ? -104 : /\d/.test(written) ? -121 : -120)
  if (mantissa.replace(/\D/g, '').length > MOST_DIGITS) return refused(-124)
  const exponent = Number(found[2] ?? 0)
  if (Math.abs(exponent) > MOST_EXPONENT) return refused(-123)
  const factor = found[3] === undefined ? { ok: true as const, value: 1 } : suffixFactor(found[3].toUpperCase(), unit)
  if (!factor.ok) return factor
  return { ok: true, value: Number(`${mantissa}e${exponent}`) * factor.value }
}

const DECIMAL = /^([+-]?(?:\d+(?:\.\d*)?|\.\d+))(?:\s*[eE]\s*([+-]?\d+))?(?:\s*([A-Za-z%][A-Za-z0-9/.-]*))?$/
const MOST_DIGITS = 255
const MOST_EXPONENT = 32000
const LONGEST_SUFFIX = 12

function nonDecimal(written: string): Parse<number> {
  const found = /^#(?:H([0-9a-f]+)|Q([0-7]+)|B([01]+))$/i.exec(written)
  if (!found) return refused(-121)
  if (found[1] !== undefined) return { ok: true, value: Number.parseInt(found[1], 16) }
  if (found[2] !== undefined) return { ok: true, value: Number.parseInt(found[2], 8) }
  return { ok: true, value: Number.parseInt(found[3] ?? '', 2) }
}

/** IEEE 488.2 table 7-2. */
const MULTIPLIERS: Readonly<Record<string, number>> = {
  '': 1,
  EX: 1e18,
  PE: 1e15,
  T: 1e12,
  G: 1e9,
  MA: 1e6,
  K: 1e3,
  M: 1e-3,
  U: 1e-6,
  N: 1e-9,
  P: 1e-12,
  F: 1e-15,
  A: 1e-18,
}

/** With HZ and OHM the letter M means mega, and there is no MA. */
const MULTIPLIERS_MEGA: Readonly<Record<string, number>> = (() => {
  const { MA: _mega, ...others } = MULTIPLIERS
  return { ...others, M: 1e6 }
})()

function suffixFactor(suffix: string, unit: SuffixUnit): Parse<number> {
  if (suffix.length > LONGEST_SUFFIX) return refused(-134)
  if (unit === 'none') return refused(-138)
  if (unit === 'ratio') {
    const factor = suffix === 'PCT' ? 1e-2 : suffix === 'PPM' ? 1e-6 : null
    return factor === null ? refused(-131) : { ok: true, value: factor }
  }
  if (unit === 'dBm') return suffix === 'DBM' ? { ok: true, value: 1 } : refused(-131)
  if (!suffix.endsWith(unit)) return refused(-131)
  const table = unit === 'HZ' || unit === 'OHM' ? MULTIPLIERS_MEGA : MULTIPLIERS
  const factor = table[suffix.slice(0, -unit.length)]
  return factor === undefined ? refused(-131) : { ok: true, value: factor }
}

/** Reads 1, 0, ON, OFF; any other number counts by its rounded value. */
export function parseBoolean(text: string): Parse<boolean> {
  const word = text.trim().toUpperCase()
  if (word === 'ON' || word === 'OFF') return { ok: true, value: word === 'ON' }
  const number = parseNumber(word, 'none')
  return number.ok ? { ok: true, value: Math.round(number.value) !== 0 } : number
}

/** A number as instruments send it: NR3, signed, `digits` behind the point; NaN is 9.91E+37, infinity 9.9E+37 (SCPI-1999, volume 1, 7.2.1). */
export function nr3(value: number, digits: number): string {
  if (Number.isNaN(value)) return '+9.91E+37'
  if (!Number.isFinite(value)) return value > 0 ? '+9.9E+37' : '-9.9E+37'
  const [mantissa = '', exponent = ''] = Math.abs(value).toExponential(digits).split('e')
  const size = exponent.slice(1).padStart(2, '0')
  return `${value < 0 ? '-' : '+'}${mantissa}E${exponent.startsWith('-') ? '-' : '+'}${size}`
}

function refused(error: number): { readonly ok: false; readonly error: number } {
  return { ok: false, error }
}
