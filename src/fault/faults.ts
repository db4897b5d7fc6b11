import type { Code } from '../words/english/english.ts'

/** What a fault stops: the whole program, the step at hand, one reading, one request, or one file. */
export type Stops = 'service' | 'step' | 'reading' | 'request' | 'file' | 'supply'

/**
 * Every fault the program can raise: what it stops and what the person at the bench does next, a sentence of the dictionary.
 * Codes are LAYER_WHAT, never renamed, never reused. DEVELOPERS.md documents each; a test holds the two against each other.
 */
export const FAULTS = {
  SCHEMA_REJECTED: { stops: 'file', next: 'next.schema-rejected' },
  SCHEMA_FILE_MISSING: { stops: 'file', next: 'next.schema-file-missing' },
  SCHEMA_FORMAT_NEWER: { stops: 'file', next: 'next.schema-format-newer' },
  TRANSPORT_ADDRESS: { stops: 'file', next: 'next.transport-address' },
  TRANSPORT_OPEN_FAILED: { stops: 'step', next: 'next.transport-open-failed' },
  TRANSPORT_BUSY: { stops: 'step', next: 'next.transport-busy' },
  TRANSPORT_DENIED: { stops: 'step', next: 'next.transport-denied' },
  TRANSPORT_MESSAGE_TOO_LONG: { stops: 'request', next: 'next.transport-message-too-long' },
  TRANSPORT_SEND_STALLED: { stops: 'step', next: 'next.transport-send-stalled' },
  TRANSPORT_REPLY_TIMEOUT: { stops: 'step', next: 'next.transport-reply-timeout' },
  TRANSPORT_REPLY_TOO_LONG: { stops: 'reading', next: 'next.transport-reply-too-long' },
  TRANSPORT_REPLY_GARBLED: { stops: 'reading', next: 'next.transport-reply-garbled' },
  TRANSPORT_OUT_OF_STEP: { stops: 'step', next: 'next.transport-out-of-step' },
  TRANSPORT_LINK_LOST: { stops: 'step', next: 'next.transport-link-lost' },
  TRANSPORT_CLOSED: { stops: 'step', next: 'next.transport-closed' },
  DRIVER_REPLY_UNREADABLE: { stops: 'reading', next: 'next.driver-reply-unreadable' },
  DRIVER_WRONG_INSTRUMENT: { stops: 'step', next: 'next.driver-wrong-instrument' },
  DRIVER_NO_SUCH_ROW: { stops: 'request', next: 'next.driver-no-such-row' },
  INSTRUMENT_REFUSED: { stops: 'step', next: 'next.instrument-refused' },
  INSTRUMENT_SETTING_DIFFERS: { stops: 'step', next: 'next.instrument-setting-differs' },
  INSTRUMENT_OUT_OF_RANGE: { stops: 'request', next: 'next.instrument-out-of-range' },
  BENCH_MIXED: { stops: 'service', next: 'next.bench-mixed' },
  BENCH_ADDRESS_UNKNOWN: { stops: 'service', next: 'next.bench-address-unknown' },
  BENCH_NOBODY_MEASURES: { stops: 'request', next: 'next.bench-nobody-measures' },
  BENCH_GENERATOR_ON: { stops: 'step', next: 'next.bench-generator-on' },
  BENCH_GENERATOR_REFUSED: { stops: 'request', next: 'next.bench-generator-refused' },
  KEEPER_GONE: { stops: 'supply', next: 'next.keeper-gone' },
  KEEPER_REFUSED: { stops: 'supply', next: 'next.keeper-refused' },
  KEEPER_TRIPPED: { stops: 'supply', next: 'next.keeper-tripped' },
  KEEPER_SHORT: { stops: 'supply', next: 'next.keeper-short' },
  KEEPER_NOT_SAFE: { stops: 'supply', next: 'next.keeper-not-safe' },
  KEEPER_UNREADABLE: { stops: 'supply', next: 'next.keeper-unreadable' },
  KEEPER_SUPPLY_DISAGREES: { stops: 'supply', next: 'next.keeper-supply-disagrees' },
  JOB_REQUEST_REFUSED: { stops: 'request', next: 'next.job-request-refused' },
  SERVER_FOREIGN: { stops: 'request', next: 'next.server-foreign' },
  SERVER_NOT_STEERING: { stops: 'request', next: 'next.server-not-steering' },
  SERVER_FRAME_REFUSED: { stops: 'request', next: 'next.server-frame-refused' },
  SERVER_PORT_TAKEN: { stops: 'service', next: 'next.server-port-taken' },
  SERVER_PAGE_MISSING: { stops: 'service', next: 'next.server-page-missing' },
  SERVER_FULL: { stops: 'request', next: 'next.server-full' },
  RECORD_MISSING: { stops: 'request', next: 'next.record-missing' },
  RECORD_BROKEN: { stops: 'request', next: 'next.record-broken' },
  RECORD_CLOSED: { stops: 'request', next: 'next.record-closed' },
  RECORD_IN_USE: { stops: 'request', next: 'next.record-in-use' },
  RECORD_WRITE_FAILED: { stops: 'step', next: 'next.record-write-failed' },
  RECORD_KEY_OPEN: { stops: 'request', next: 'next.record-key-open' },
  RECORD_KEY_KNOWN: { stops: 'request', next: 'next.record-key-known' },
  RECORD_KEY_UNREADABLE: { stops: 'request', next: 'next.record-key-unreadable' },
  COMMAND_USAGE: { stops: 'request', next: 'next.command-usage' },
  SIMULATION_FAILED: { stops: 'service', next: 'next.simulation-failed' },
} as const satisfies Record<string, { stops: Stops; next: Code }>

export type FaultCode = keyof typeof FAULTS
