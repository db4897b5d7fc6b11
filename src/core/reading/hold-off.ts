import type { MeterFacts, Reading } from '../../schema/kept/reading.ts'

/** What was changed. `function`: the meter's own; `hand`: something a person was asked to do and confirmed. */
export type Cause = 'supply' | 'key' | 'channel' | 'level' | 'tone' | 'function' | 'hand'

/** The newest change: the epoch it began, when (bench clock, ms), and what it was. */
export interface Change {
  readonly epoch: number
  readonly atMs: number
  readonly cause: Cause
}

/** The set takes this long after its supply was moved, ms: ramp, lead, loop and bias. */
export const SUPPLY_MS = 2000
/** Relay, loop and power of the set after key-down, ms; a meter with a recovery of its own may need longer. */
const KEY_MS = 500
/** A meter has forgotten the value before a change after this many of its latencies. */
const LATENCIES = 3

/** How long after a change no reading may begin that is to count, ms. */
export function holdOffMs(cause: Cause, facts: MeterFacts): number {
  switch (cause) {
    case 'supply':
      return SUPPLY_MS
    case 'key':
      return Math.max(KEY_MS, facts.recoverMs)
    case 'channel':
    case 'level':
    case 'tone':
    case 'function':
    case 'hand':
      // a gate that begins after the change holds nothing of before it
      return facts.gateMs > 0 ? 0 : LATENCIES * facts.latencyMs
    default:
      return cause satisfies never
  }
}

/** Whether a reading counts: it belongs to the epoch of the newest change and began after that change's hold-off. */
export function counts(reading: Reading, change: Change, facts: MeterFacts): boolean {
  return reading.epoch === change.epoch && reading.beganMs >= change.atMs + holdOffMs(change.cause, facts)
}
