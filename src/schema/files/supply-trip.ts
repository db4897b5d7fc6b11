import { type Said, said } from '../../words/said/said.ts'
import type { SupplyTrip } from '../kept/supply-trip-kind.ts'
import type { BenchEntry } from './bench-file.ts'
import type { DriverFile } from './driver-file.ts'

/** What protects the radio on this supply: its own trip where its driver sets one, else the crowbar of the bench file. */
export function supplyTripOf(entry: Pick<BenchEntry, 'crowbar'>, driver: Pick<DriverFile, 'settings'>): SupplyTrip {
  if (driver.settings.some((row) => row.name === 'over-voltage trip')) return 'own'
  return entry.crowbar === null ? 'none' : { crowbarVolts: entry.crowbar.tripsAtVolts, tried: entry.crowbar.tried }
}

/** Why such a supply is not taken above the normal voltage, V, and what to do about it. */
export function noTripWords(normalVolts: number): Said {
  return said('keeper.no-trip', { volts: `${normalVolts.toFixed(2)} V` })
}
