import type { StateRow, SwitchRow, ValueRow } from '../schema/files/driver-rows.ts'
import { toKept, toSpoken } from '../schema/files/row-unit.ts'
import { formatNumber } from '../scpi/header.ts'
import { readNumber } from '../scpi/number.ts'

/** The message that sets a value (in the unit of its row), in fixed decimals. */
export function messageOfValue(row: ValueRow, value: number): string {
  return row.tell.replace('{value}', formatNumber(toSpoken(row.spoken, value), row.decimals))
}

/** The message that turns a switch on or off. */
export function messageOfSwitch(row: SwitchRow, state: 'on' | 'off'): string {
  return row.tell.replace('{value}', row.says[state])
}

/** What a read back says the value is, in the unit of its row; null when the reply is no number. */
export function valueRead(row: ValueRow, reply: string): number | null {
  const { value } = readNumber(reply)
  return value === null ? null : toKept(row.spoken, value)
}

/** What a read back says of a switch; null when the reply is not in the table. */
export function switchRead(row: SwitchRow, reply: string): 'on' | 'off' | null {
  return lookUp(row.answers, reply)
}

/** What a state reply means in the words of the bench; null when it fits neither the bit nor the table. */
export function stateRead(row: StateRow, reply: string): string | null {
  if (!row.bit) return lookUp(row.answers, reply)
  const { value } = readNumber(reply)
  if (value === null || !Number.isInteger(value) || value < 0 || value > 0xffff) return null
  return (value >> row.bit.number) & 1 ? row.bit.set : row.bit.clear
}

/** Whether a value read back is the one that was asked for, within the instrument's own step. */
export function agrees(row: ValueRow, asked: number, read: number): boolean {
  return Math.abs(read - asked) <= row.step * (1 + 1e-9)
}

/** Replies of a table compare as text, and as numbers where they are written as numbers: "+1" is "1". */
function lookUp<T>(table: Readonly<Record<string, T>>, reply: string): T | null {
  const text = reply.trim()
  const { value } = readNumber(text)
  const found = Object.entries(table).find(
    ([key]) => key === text || (value !== null && readNumber(key).value === value),
  )
  return found?.[1] ?? null
}
