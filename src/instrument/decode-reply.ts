import type { ReadingRow } from '../schema/files/driver-rows.ts'
import { toKept } from '../schema/files/row-unit.ts'
import type { ReadingState } from '../schema/kept/reading.ts'
import { readNumber } from '../scpi/number.ts'
import { DECODERS, type Spoken } from './decoders.ts'

/** A reply as a reading: a value in the unit of the quantity, or a named state; `parts` where one reply carries several. */
export interface Decoded {
  readonly value: number | null
  readonly state: ReadingState
  readonly parts?: readonly number[]
}

/** Reads a reply by the driver's row. What does not fit, or lies outside what the row can measure, is `unreadable`: never a number. */
export function decodeReply(row: ReadingRow, reply: string): Decoded {
  const whole = token(row, reply)
  if (whole) return { value: null, state: whole }
  if (row.fixed) return decodeFixed(row, row.fixed, reply)
  if (row.reply === 'two numbers') return decodeBoth(row, fieldsOf(reply, 2))
  if (row.reply !== 'number') return decoded(row, DECODERS[row.reply]?.(reply) ?? 'unreadable')
  if (row.field === null) return decoded(row, spoken(row, reply))
  const field = fieldsOf(reply, row.field.of)?.[row.field.use - 1]
  return decoded(row, field === undefined ? 'unreadable' : spoken(row, field))
}

/** Both peaks: the larger is the value; a state of either is the state of both. */
function decodeBoth(row: ReadingRow, fields: readonly string[] | null): Decoded {
  if (!fields) return { value: null, state: 'unreadable' }
  const both = fields.map((field) => decoded(row, spoken(row, field)))
  const parts = both.map((one) => one.value).filter((value) => value !== null)
  const bad = both.find((one) => one.state !== 'good')
  return bad ? { value: null, state: bad.state } : { value: Math.max(...parts), state: 'good', parts }
}

/** A reply of fixed width: the status letter first, the number only where it says that there is one; the digits may stand there on overflow too. */
function decodeFixed(row: ReadingRow, fixed: NonNullable<ReadingRow['fixed']>, reply: string): Decoded {
  const unreadable = { value: null, state: 'unreadable' } as const
  if (reply.length !== fixed.length) return unreadable
  const at = (place: { readonly from: number; readonly to: number }) => reply.slice(place.from - 1, place.to)
  const status = fixed.status ? entry(fixed.letters, at(fixed.status)) : 'good'
  const unit = fixed.unit ? entry(fixed.units, at(fixed.unit)) : row.spoken
  if (!status) return unreadable
  if (status !== 'good') return { value: null, state: status }
  return unit ? decoded(row, spoken(row, at(fixed.number)), unit) : unreadable
}

function decoded(row: ReadingRow, said: Spoken, unit = row.spoken): Decoded {
  if (typeof said !== 'number') return { value: null, state: said }
  const value = toKept(unit, said * row.scale)
  return value >= row.least && value <= row.most && Number.isFinite(value)
    ? { value, state: 'good' }
    : { value: null, state: 'unreadable' }
}

function spoken(row: ReadingRow, text: string): Spoken {
  const known = token(row, text)
  if (known) return known
  const { state, value } = readNumber(withoutUnit(text, row.unitAfter))
  if (state !== 'good') return state
  return value ?? 'unreadable'
}

function token(row: ReadingRow, text: string): Exclude<ReadingState, 'good'> | undefined {
  return entry(row.tokens, text)
}

function entry<T>(table: Readonly<Record<string, T>>, text: string): T | undefined {
  const key = text.trim()
  return Object.hasOwn(table, key) ? table[key] : undefined
}

/** Fields between commas; null when there are more or fewer, since then nobody knows which is which. */
function fieldsOf(reply: string, count: number): readonly string[] | null {
  const fields = reply.split(',')
  return fields.length === count ? fields : null
}

function withoutUnit(text: string, unit: string | null): string {
  const bare = text.trimEnd()
  return unit !== null && bare.toUpperCase().endsWith(unit.toUpperCase()) ? bare.slice(0, -unit.length) : text
}
