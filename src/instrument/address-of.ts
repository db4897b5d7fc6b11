import { BenchError } from '../fault/bench-error.ts'
import type { BenchEntry } from '../schema/files/bench-file.ts'

/**
 * Where an entry of the bench file is reached; `simulated` means the address in `addresses` under the entry's name.
 * Throws BENCH_ADDRESS_UNKNOWN where there is none.
 */
export function addressOf(entry: BenchEntry, addresses: Readonly<Record<string, string>> = {}): string {
  if (entry.at !== null && entry.at !== 'simulated') return entry.at
  const address = Object.hasOwn(addresses, entry.name) ? addresses[entry.name] : undefined
  if (address !== undefined) return address
  const known = Object.keys(addresses).join(', ') || 'none'
  throw new BenchError(
    'BENCH_ADDRESS_UNKNOWN',
    entry.name,
    `the simulated bench has no instrument of this name; it has: ${known}`,
  )
}
