import type { BenchError } from '../fault/bench-error.ts'
import type { Supply, Wish } from '../keeper/service/supply.ts'
import type { Quantity } from '../quantity/quantity.ts'
import type { Signal, SourceName } from '../schema/files/sources.ts'
import type { MeterFacts, Reading } from '../schema/kept/reading.ts'
import type { SupplyTrip } from '../schema/kept/supply-trip-kind.ts'
import type { SupplyState } from '../schema/messages/keeper-message.ts'

export type { Wish }

/** Who is on the bench and what it answered when asked who it is. */
export interface InstrumentInfo {
  readonly name: string
  readonly driver: string
  readonly address: string
  /** The identity reply, unchanged; "" for a typed-in meter and while it is not reached. */
  readonly identity: string
  readonly simulated: boolean
  readonly up: boolean
  readonly calibrationDue: string | null
  /** Number of its calibration certificate, from the bench file. */
  readonly certificate: string | null
  /** Third field of its identity reply; "" where it says none. */
  readonly serial: string
  /** Read by a person. */
  readonly typed: boolean
}

/** What a bench makes, and the name of the instrument that makes it. */
export interface SourceFacts {
  readonly name: SourceName
  readonly instrument: string
}

/** A source of the bench. */
export interface BenchSource {
  /** Somebody on the bench makes it. */
  readonly there: boolean
  /**
   * Sets a signal and switches it on, or (null) off: values by the name of their row in the driver, in its unit (a tone is
   * `{ 'audio tone': 1000, 'audio level': 0.03 }`: Hz, and V r.m.s. at the microphone socket). Resolves when the output has settled.
   * Throws BENCH_NOBODY_MEASURES where nobody makes it, BENCH_GENERATOR_REFUSED where it must not be on now, and what the instrument throws.
   */
  set(signal: Signal | null, abort: AbortSignal): Promise<void>
}

export interface LinkNews {
  readonly instrument: string
  readonly up: boolean
  /** Why it went, or what one reading missed, with what to do; null when it is back. */
  readonly fault: BenchError | null
  /** One reply was missed: the link stands. */
  readonly missed?: true
}

/** The opened bench: readings are pushed, never asked for one by one; every commanded change raises the epoch. */
export interface Bench {
  readonly name: string
  readonly simulated: boolean
  readonly supply: Supply
  /** What ends an over-voltage of the supply when the program cannot. A bench without a supply raises nothing: `own`. */
  readonly supplyTrip: SupplyTrip
  instruments(): readonly InstrumentInfo[]
  /** One entry per quantity that this bench measures. */
  readonly meters: readonly MeterFacts[]
  /** What to read, most wanted first; anything else is left alone. DC current comes from the keeper always. */
  watch(wanted: readonly Quantity[]): void
  readonly epoch: number
  /** Says that something was changed; readings that began before count for nothing from here on. Returns the new epoch. */
  raiseEpoch(cause: string): number
  /** What the bench makes, and who makes it. */
  readonly sources: readonly SourceFacts[]
  /** A source by its name, whether the bench has it or not. */
  source(name: SourceName): BenchSource
  /** A reading that a person typed in, in the unit of the quantity, at the meter; `parts` for both peaks, `role` where several meters of it are typed in. Throws BENCH_NOBODY_MEASURES where no typed-in meter measures it. */
  typeIn(quantity: Quantity, value: number, raw: string, parts?: readonly number[], role?: string): Reading
  onReading(listener: (reading: Reading) => void): () => void
  onLink(listener: (news: LinkNews) => void): () => void
  onSupply(listener: (state: SupplyState) => void): () => void
  /** Generators off first, then links in reverse order; idempotent; logs, never throws. The supply is made safe by its owner before this. */
  close(): Promise<void>
}
