import type { Part } from './parts.ts'

/** Parts are kept whole from the start of the service for as long as they take less than this, compressed, bytes. */
export const RING_BYTES = 32 * 1024 * 1024

/** The head, and the newest parts that fit. */
export interface Ring {
  take(part: Part): void
  /** Head first. */
  parts(): readonly Part[]
  bytes(): number
}

/** At most `most` bytes: the oldest parts after the head are let go. */
export function openRing(most = RING_BYTES): Ring {
  let head: Part | null = null
  const parts: Part[] = []
  let bytes = 0
  return {
    take: (part) => {
      if (part.n === 0) head = part
      else parts.push(part)
      bytes += part.bytes.length
      while (bytes > most && parts.length > 1) bytes -= parts.shift()?.bytes.length ?? 0
    },
    parts: () => (head ? [head, ...parts] : []),
    bytes: () => bytes,
  }
}
