import type { BenchError } from '../fault/bench-error.ts'

/** Whether the link brings itself back in step after this fault: a single missed or garbled reply. */
export function isMiss({ code }: BenchError): boolean {
  return MISSES.has(code)
}

const MISSES: ReadonlySet<string> = new Set([
  'TRANSPORT_REPLY_TIMEOUT',
  'TRANSPORT_REPLY_TOO_LONG',
  'TRANSPORT_REPLY_GARBLED',
  'TRANSPORT_OUT_OF_STEP',
  'DRIVER_REPLY_UNREADABLE',
  'INSTRUMENT_SETTING_DIFFERS', // a box that was turned by hand is turned back
])
