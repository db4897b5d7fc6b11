import type { BenchEntry } from './bench-file.ts'
import type { DriverFile } from './driver-file.ts'

/** What ends an over-voltage when the program cannot: the supply's own trip, an external crowbar that the bench file names (V, day it was tried), or nothing. */
export type SupplyTrip = 'own' | 'none' | { readonly crowbarVolts: number; readonly tried: string }

/** What protects the radio on this supply: its own trip where its driver sets one, else the crowbar of the bench file. */
export function supplyTripOf(entry: Pick<BenchEntry, 'crowbar'>, driver: Pick<DriverFile, 'settings'>): SupplyTrip {
  if (driver.settings.some((row) => row.name === 'over-voltage trip')) return 'own'
  return entry.crowbar === null ? 'none' : { crowbarVolts: entry.crowbar.tripsAtVolts, tried: entry.crowbar.tried }
}

/** Why such a supply is not taken above the normal voltage, V, and what to do about it. */
export function noTripWords(normalVolts: number): string {
  return (
    `The supply has no over-voltage trip: it is not taken above ${normalVolts.toFixed(2)} V. ` +
    'Name an external crowbar in the bench file, or use another supply'
  )
}

/** What a person has to know of the supply before a job at this normal voltage, V; nothing where it has a trip of its own. */
export function tripCautions(trip: SupplyTrip, normalVolts: number): readonly string[] {
  if (trip === 'own') return []
  if (trip === 'none') return [`${noTripWords(normalVolts)}.`]
  return [
    `The supply has no over-voltage trip of its own: the external crowbar trips at ${trip.crowbarVolts.toFixed(2)} V ` +
      `and was tried on ${trip.tried}. Look that it is connected.`,
  ]
}

/** What a job on this supply leaves out, for its record: nothing where something trips. */
export function tripNotCovered(trip: SupplyTrip, normalVolts: number): readonly string[] {
  return trip === 'none' ? [`supply above ${normalVolts.toFixed(2)} V (no over-voltage trip, no crowbar)`] : []
}
