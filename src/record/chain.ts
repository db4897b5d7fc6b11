import { createHash } from 'node:crypto'

/** What stands for the line before the first. */
export const NOTHING_BEFORE = '0'.repeat(64)

/** SHA-256 of a text's UTF-8 bytes, in hex (FIPS 180-4). */
export function sha256(text: string | Uint8Array): string {
  return createHash('sha256').update(text).digest('hex')
}

/** An entry as the line after `prev`, without its newline. Keys keep their order, so that the same entry gives the same bytes. */
export function chained(
  entry: object,
  place: { readonly n: number; readonly prev: string; readonly at: string },
): string {
  return JSON.stringify({ ...place, ...entry })
}
