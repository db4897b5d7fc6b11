import type { ReadingState } from '../schema/kept/reading.ts'
import { readNumber } from '../scpi/number.ts'

/** What a reply says: the number in the instrument's own unit, or a named state. */
export type Spoken = number | Exclude<ReadingState, 'good'>

/**
 * Decoders for replies that a number, tokens and a scale cannot describe, by the name that a driver file uses in `reply`.
 * Each is pure and answers `unreadable` for any other form.
 */
export const DECODERS: Readonly<Record<string, (reply: string) => Spoken>> = {
  'letter after number': letterAfterNumber,
  'letters before number': lettersBeforeNumber,
}

const LETTERS: Readonly<Record<string, Exclude<ReadingState, 'good'>>> = { O: 'over', U: 'under' }

/**
 * "+1234.567E-03NVDC,...": a letter after the number says what it is worth. N normal, O overflow, U underflow; the digits stand there
 * on overflow too. Z (zero check), R (relative) and L (limit) make the value something else than it seems: unreadable.
 */
function letterAfterNumber(reply: string): Spoken {
  const [, digits = '', letter = ''] = /^\s*([+-]?[\d.]+(?:E[+-]?\d+)?)([NOUZRL])[A-Z]*(?:,.*)?$/.exec(reply) ?? []
  return letter === 'N' ? numberIn(digits) : (LETTERS[letter] ?? 'unreadable')
}

/** "NDCV+1.2345E+00": first letter as above, then three for the function, then the number (formats older than SCPI). */
function lettersBeforeNumber(reply: string): Spoken {
  const [, letter = '', digits = ''] = /^\s*([NOUZRL])[A-Z]{3}\s*([+-]?[\d.]+(?:E[+-]?\d+)?)\s*$/.exec(reply) ?? []
  return letter === 'N' ? numberIn(digits) : (LETTERS[letter] ?? 'unreadable')
}

function numberIn(digits: string): Spoken {
  const { state, value } = readNumber(digits)
  return state === 'good' && value !== null ? value : 'unreadable'
}
