import type { FromKeeper, SupplyState } from '../schema/keeper-message.ts'

/** What the job may do with the supply: a client of the keeper. Every call is answered by a read-back state or a BenchError. */
export interface Supply {
  readonly identity: string
  readonly simulated: boolean
  /** The newest state the keeper pushed. */
  latest(): SupplyState
  limits(limits: {
    readonly ceilingVolts: number
    readonly tripVolts: number
    readonly ceilingAmps: number
    readonly normalVolts: number
    readonly receiveAmps: number
    readonly keyedAboveAmps: number
  }): Promise<SupplyState>
  /** Resolves when the read-back has reached it (upward at 1 V/s, downward at once). KEEPER_REFUSED above a limit, or upward while keyed. */
  set(volts: number, amps: number): Promise<SupplyState>
  on(): Promise<SupplyState>
  /** Normal voltage, receive limit. */
  normal(why: string): Promise<SupplyState>
  /** Output off, read back. */
  safe(why: string): Promise<SupplyState>
  onState(listener: (state: SupplyState) => void): () => void
  /** The keeper acted by itself (beat lost, trip, unreadable). */
  onActed(listener: (acted: Extract<FromKeeper, { kind: 'acted' }>) => void): () => void
  /** The keeper process is gone: no keeper, no output. */
  onGone(listener: (reason: Error) => void): () => void
  /** Safe first, then ends the keeper; idempotent, never rejects. */
  close(): Promise<void>
}
