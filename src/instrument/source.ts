import type { SettingRow } from '../schema/files/driver-rows.ts'
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

/** A tone at the microphone socket: hertz, volts r.m.s. */
export interface Tone {
  readonly hz: number
  readonly volts: number
}

/** An audio oscillator. */
export interface ToneSource {
  /**
   * Sets a tone and switches it on, or (null) off; each setting is read back. Resolves when the output has settled.
   * Throws INSTRUMENT_OUT_OF_RANGE, INSTRUMENT_REFUSED, INSTRUMENT_SETTING_DIFFERS, DRIVER_NO_SUCH_ROW and what the link throws.
   */
  set(tone: Tone | null, wait: Wait): Promise<void>
  /** Whether it makes this tone, as far as it can be read back. Throws DRIVER_REPLY_UNREADABLE and what the link throws. */
  makes(tone: Tone, wait: Wait): Promise<boolean>
}

/** An audio oscillator on an opened instrument. Level and frequency change with the output off, since a level change may pass through anything. */
export function toneSourceOn(instrument: Instrument, clock: Clock): ToneSource {
  const output = switchRowOf(instrument, 'output')
  const hertz = valueRowOf(instrument, 'audio tone')
  const volts = valueRowOf(instrument, 'audio level')

  const turn = async (state: 'on' | 'off', wait: Wait) => {
    await tellSwitch(instrument, output, state, wait)
    if (output.readBack !== null) await proveSwitch(instrument, output, state, wait)
  }

  return {
    makes: async (tone, wait) => {
      if (output.readBack !== null && (await readSwitchBack(instrument, output, wait)) !== 'on') return false
      for (const [row, value] of [[hertz, tone.hz] as const, [volts, tone.volts] as const])
        if (row.readBack !== null && !agrees(row, value, await readValueBack(instrument, row, wait))) return false
      return true
    },
    set: async (tone, wait) => {
      await turn('off', wait)
      if (!tone) return
      for (const [row, value] of [[hertz, tone.hz] as const, [volts, tone.volts] as const]) {
        await tellValue(instrument, row, value, wait)
        if (row.readBack !== null) await proveValue(instrument, row, value, wait)
      }
      await turn('on', wait)
      await clock.sleepUntil(clock.nowMs() + longestOf([hertz, volts, output]), wait.signal)
    },
  }
}

function longestOf(rows: readonly SettingRow[]): number {
  return Math.max(...rows.map((row) => row.takesMs))
}
