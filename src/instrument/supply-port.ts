import type { Wait } from '../transport/link.ts'

/** One look at the supply, measured by the supply itself, at its terminals. */
export interface SupplyReadBack {
  /** Bench clock, ms: when the first question left, when the last reply was complete. */
  readonly beganMs: number
  readonly atMs: number
  readonly volts: number
  readonly amps: number
  readonly rawAmps: string
  readonly output: 'on' | 'off'
  readonly regulation: 'voltage' | 'current' | 'none' | 'unknown'
  readonly tripped: boolean
  readonly setVolts: number
  readonly limitAmps: number
}

/** A programmable supply brought to life on its link. Only the keeper holds one. Each setting reads the error queue after it. */
export interface SupplyPort {
  readonly who: string
  /** The identity reply, unchanged. */
  readonly identity: string
  /** The way to it has room for one connection: a serial line. */
  readonly alone?: boolean
  /** It has an over-voltage trip of its own; left out: it has. */
  readonly hasTrip?: boolean
  readBack(wait: Wait): Promise<SupplyReadBack>
  setVolts(volts: number, wait: Wait): Promise<void>
  setAmps(amps: number, wait: Wait): Promise<void>
  /** Sets the over-voltage trip and reads it back; INSTRUMENT_SETTING_DIFFERS when it is not what was asked, DRIVER_NO_SUCH_ROW where there is none. */
  setTrip(volts: number, wait: Wait): Promise<void>
  output(on: boolean, wait: Wait): Promise<void>
  /** The driver's messages that switch the output off, handed over at once in whatever state the link is; nobody answers. */
  makeSafe?(): Promise<void>
  /** How long the pauses between those messages may make it take, ms; left out: no time. */
  readonly makeSafeMs?: number
  /** The lowest voltage that it can be set to; left out: 0 V. */
  readonly leastVolts?: number
  close(): Promise<void>
}
