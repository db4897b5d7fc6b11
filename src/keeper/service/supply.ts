import type { FromKeeper, SupplyState } from '../../schema/messages/keeper-message.ts'
import type { Words } from '../../words/said/said.ts'

/** Voltages in V, currents in A, at the supply's terminals. */
export interface SupplyLimits {
  readonly ceilingVolts: number
  readonly tripVolts: number
  readonly ceilingAmps: number
  readonly normalVolts: number
  readonly receiveAmps: number
  readonly keyedAboveAmps: number
}

/**
 * What somebody who steers wants of the supply. It dies with the next wish, with `normal`, `safe`, and whatever the keeper does by
 * itself; from then on each of its orders is refused (KEEPER_REFUSED), here before it is sent and by the keeper before each step.
 */
export interface Wish {
  readonly live: boolean
  limits(limits: SupplyLimits): Promise<SupplyState>
  /** Resolves when the read-back has reached it (upward at 1 V/s, downward at once). KEEPER_REFUSED above a limit, or upward while keyed. */
  set(volts: number, amps: number): Promise<SupplyState>
  on(): Promise<SupplyState>
}

/** What the job may do with the supply: a client of the keeper. Every call is answered by a read-back state or a BenchError. */
export interface Supply {
  readonly identity: string
  readonly simulated: boolean
  /** The newest state the keeper pushed. */
  latest(): SupplyState
  /** The one way to anything above the resting states. Ends every wish before it. */
  wish(): Wish
  /** Normal voltage, receive limit; off where the output was not on yet. Ends every wish so far. */
  normal(why: Words): Promise<SupplyState>
  /** Output off, read back. Ends every wish so far. */
  safe(why: Words): Promise<SupplyState>
  onState(listener: (state: SupplyState) => void): () => void
  /** The keeper acted by itself (beat lost, trip, unreadable). */
  onActed(listener: (acted: Extract<FromKeeper, { kind: 'acted' }>) => void): () => void
  /** The keeper process is gone: no keeper, no output. */
  onGone(listener: (reason: Error) => void): () => void
  /** Safe first, then ends the keeper; idempotent, never rejects. */
  close(): Promise<void>
}
