import { BenchError } from '../fault/bench-error.ts'
import type { SettingName, SettingRow, SwitchRow, ValueRow } from '../schema/files/driver-rows.ts'
import type { Wait } from '../transport/link.ts'
import type { Instrument } from './open-instrument.ts'
import { agrees, messageOfSwitch, messageOfValue, switchRead, valueRead } from './setting-message.ts'

/** The driver's row for a value that is set. Throws DRIVER_NO_SUCH_ROW. */
export function valueRowOf(instrument: Instrument, name: SettingName): ValueRow {
  const row = rowOf(instrument, name)
  if (row.kind !== 'value') throw new TypeError(`${name} is a switch`)
  return row
}

/** The driver's row for a switch. Throws DRIVER_NO_SUCH_ROW. */
export function switchRowOf(instrument: Instrument, name: SettingName): SwitchRow {
  const row = rowOf(instrument, name)
  if (row.kind !== 'switch') throw new TypeError(`${name} is a value`)
  return row
}

/** Sends a value in the unit of its row. Throws INSTRUMENT_OUT_OF_RANGE outside the driver's limits, INSTRUMENT_REFUSED by the error queue. */
export async function tellValue(instrument: Instrument, row: ValueRow, value: number, wait: Wait): Promise<void> {
  if (!(value >= row.least && value <= row.most)) {
    const happened = `${row.name} ${value} ${row.unit} lies outside ${row.least} .. ${row.most} ${row.unit}`
    throw new BenchError('INSTRUMENT_OUT_OF_RANGE', instrument.who, happened)
  }
  await instrument.tell(messageOfValue(row, value), wait)
}

export async function tellSwitch(
  instrument: Instrument,
  row: SwitchRow,
  state: 'on' | 'off',
  wait: Wait,
): Promise<void> {
  await instrument.tell(messageOfSwitch(row, state), wait)
}

/** The value in force, read back. Throws DRIVER_REPLY_UNREADABLE. */
export async function readValueBack(instrument: Instrument, row: ValueRow, wait: Wait): Promise<number> {
  const reply = (await instrument.ask(readBackOf(instrument, row), wait)).text
  return valueRead(row, reply) ?? unreadable(instrument, row.name, reply)
}

export async function readSwitchBack(instrument: Instrument, row: SwitchRow, wait: Wait): Promise<'on' | 'off'> {
  const reply = (await instrument.ask(readBackOf(instrument, row), wait)).text
  return switchRead(row, reply) ?? unreadable(instrument, row.name, reply)
}

/** Reads a value back and compares it with what was asked for. Throws INSTRUMENT_SETTING_DIFFERS. */
export async function proveValue(instrument: Instrument, row: ValueRow, asked: number, wait: Wait): Promise<void> {
  const read = await readValueBack(instrument, row, wait)
  if (!agrees(row, asked, read)) throw differs(instrument, row.name, `${asked} ${row.unit}`, `${read} ${row.unit}`)
}

export async function proveSwitch(
  instrument: Instrument,
  row: SwitchRow,
  asked: 'on' | 'off',
  wait: Wait,
): Promise<void> {
  const read = await readSwitchBack(instrument, row, wait)
  if (read !== asked) throw differs(instrument, row.name, asked, read)
}

/** Says that a reply fits no form, and puts the link in doubt. Throws DRIVER_REPLY_UNREADABLE. */
export function unreadable(instrument: Instrument, what: string, reply: string): never {
  instrument.doubt(`"${reply}" is no answer for ${what}`)
  throw new BenchError('DRIVER_REPLY_UNREADABLE', instrument.who, `"${reply}" is no answer for ${what}`)
}

function rowOf(instrument: Instrument, name: SettingName): SettingRow {
  const row = instrument.driver.settings.find((setting) => setting.name === name)
  if (!row) throw new BenchError('DRIVER_NO_SUCH_ROW', instrument.who, `${instrument.driver.id} does not set ${name}`)
  return row
}

function readBackOf(instrument: Instrument, row: SettingRow): string {
  if (row.readBack === null)
    throw new BenchError('DRIVER_NO_SUCH_ROW', instrument.who, `${instrument.driver.id} does not read ${row.name} back`)
  return row.readBack
}

function differs(instrument: Instrument, name: string, asked: string, read: string): BenchError {
  return new BenchError(
    'INSTRUMENT_SETTING_DIFFERS',
    instrument.who,
    `${name} was set to ${asked} and reads back as ${read}`,
  )
}
