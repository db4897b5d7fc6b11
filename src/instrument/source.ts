import { BenchError } from '../fault/bench-error.ts'
import type { SettingName, SettingRow, ValueRow } from '../schema/files/driver-rows.ts'
import { type Signal, SOURCES, type SourceName } from '../schema/files/sources.ts'
import type { Clock } from '../system/clock.ts'
import type { Wait } from '../transport/link.ts'
import type { Instrument } from './open-instrument.ts'
import {
  proveSwitch,
  proveValue,
  readSwitchBack,
  readValueBack,
  switchRowOf,
  tellSwitch,
  tellValue,
  valueRowOf,
} from './setting.ts'
import { agrees } from './setting-message.ts'

/** Something that an instrument makes: an audio oscillator, an RF generator. */
export interface Source {
  /**
   * Sets a signal and switches it on, or (null) off; each setting is read back. Resolves when the output has settled.
   * Throws INSTRUMENT_OUT_OF_RANGE, INSTRUMENT_REFUSED, INSTRUMENT_SETTING_DIFFERS, DRIVER_NO_SUCH_ROW and what the link throws.
   */
  set(signal: Signal | null, wait: Wait): Promise<void>
  /** Whether it makes this signal, as far as it can be read back. Throws DRIVER_REPLY_UNREADABLE and what the link throws. */
  makes(signal: Signal, wait: Wait): Promise<boolean>
  /** Whether it answers that it is off. Throws DRIVER_NO_SUCH_ROW where it cannot be asked, DRIVER_REPLY_UNREADABLE and what the link throws. */
  isOff(wait: Wait): Promise<boolean>
}

/** A source on an opened instrument. What it is set to changes with the output off, since a change of level may pass through anything. */
export function sourceOn(instrument: Instrument, name: SourceName, clock: Clock): Source {
  const { output: outputName, values, more } = SOURCES[name]
  const output = switchRowOf(instrument, outputName)
  const needed = values.map((value) => valueRowOf(instrument, value))
  const may = more.flatMap((value) => (sets(instrument, value) ? [valueRowOf(instrument, value)] : []))

  /** Each row with its value: what a signal must say, and nothing where it need not. Throws TypeError and DRIVER_NO_SUCH_ROW. */
  const asked = (signal: Signal): readonly (readonly [ValueRow, number])[] => {
    for (const value of Object.keys(signal) as SettingName[]) // the keys of a signal
      if (![...needed, ...may].some((row) => row.name === value))
        throw new BenchError('DRIVER_NO_SUCH_ROW', instrument.who, `${instrument.driver.id} does not set ${value}`)
    return [
      ...needed.map((row) => [row, saidBy(signal, row.name)] as const),
      ...may.map((row) => [row, signal[row.name] ?? 0] as const),
    ]
  }

  const turn = async (state: 'on' | 'off', wait: Wait) => {
    await tellSwitch(instrument, output, state, wait)
    if (output.readBack !== null) await proveSwitch(instrument, output, state, wait)
  }

  return {
    isOff: async (wait) => (await readSwitchBack(instrument, output, wait)) === 'off',
    makes: async (signal, wait) => {
      if (output.readBack !== null && (await readSwitchBack(instrument, output, wait)) !== 'on') return false
      for (const [row, value] of asked(signal))
        if (row.readBack !== null && !agrees(row, value, await readValueBack(instrument, row, wait))) return false
      return true
    },
    set: async (signal, wait) => {
      await turn('off', wait)
      if (!signal) return
      for (const [row, value] of asked(signal)) {
        await tellValue(instrument, row, value, wait)
        if (row.readBack !== null) await proveValue(instrument, row, value, wait)
      }
      await turn('on', wait)
      await clock.sleepUntil(clock.nowMs() + longestOf([...needed, ...may, output]), wait.signal)
    },
  }
}

function sets(instrument: Instrument, name: SettingName): boolean {
  return instrument.driver.settings.some((row) => row.name === name)
}

function saidBy(signal: Signal, name: SettingName): number {
  const value = signal[name]
  if (value === undefined) throw new TypeError(`the signal says no ${name}`)
  return value
}

function longestOf(rows: readonly SettingRow[]): number {
  return Math.max(...rows.map((row) => row.takesMs))
}
