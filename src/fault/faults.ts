/** What a fault stops: the whole program, the step at hand, one reading, one request, or one file. */
export type Stops = 'service' | 'step' | 'reading' | 'request' | 'file' | 'supply'

/**
 * Every fault the program can raise: what it stops and what the person at the bench does next.
 * Codes are LAYER_WHAT, never renamed, never reused. DEVELOPERS.md documents each; a test holds the two against each other.
 */
export const FAULTS = {
  SCHEMA_REJECTED: { stops: 'file', next: 'Correct what is named above and try again' },
  SCHEMA_FILE_MISSING: { stops: 'file', next: 'Check the path' },
  SCHEMA_FORMAT_NEWER: { stops: 'file', next: 'Use a newer Trimwright, or the older file' },
  TRANSPORT_ADDRESS: { stops: 'file', next: 'Write tcp://HOST:PORT or serial:PATH?baud=9600' },
  TRANSPORT_OPEN_FAILED: {
    stops: 'step',
    next: 'Check that the instrument is on, the cable is in and nobody else uses the port',
  },
  TRANSPORT_BUSY: { stops: 'step', next: 'Another program holds the instrument: close it there, or wait' },
  TRANSPORT_DENIED: {
    stops: 'step',
    next: 'This user may not open the port: join the group that owns it (often dialout) and log in again',
  },
  TRANSPORT_MESSAGE_TOO_LONG: {
    stops: 'request',
    next: 'Shorten the row in the driver file, or correct its longest message',
  },
  TRANSPORT_SEND_STALLED: { stops: 'step', next: 'Check cable and flow control, then repeat the step' },
  TRANSPORT_REPLY_TIMEOUT: { stops: 'step', next: 'Check cable and remote mode, then repeat the step' },
  TRANSPORT_REPLY_TOO_LONG: { stops: 'reading', next: 'Check the terminator in the driver file' },
  TRANSPORT_REPLY_GARBLED: { stops: 'reading', next: 'Check baud rate and parity' },
  TRANSPORT_OUT_OF_STEP: { stops: 'step', next: 'Switch the instrument off and on, then repeat the step' },
  TRANSPORT_LINK_LOST: { stops: 'step', next: 'Plug it back in; the step goes on by itself when it answers again' },
  TRANSPORT_CLOSED: { stops: 'step', next: 'Open the bench again' },
  DRIVER_REPLY_UNREADABLE: { stops: 'reading', next: 'Check that the driver fits this instrument' },
  DRIVER_WRONG_INSTRUMENT: {
    stops: 'step',
    next: 'Check the address in the bench file: another instrument answers there',
  },
  DRIVER_NO_SUCH_ROW: { stops: 'request', next: 'Add the row to the driver file, or use another instrument' },
  INSTRUMENT_REFUSED: { stops: 'step', next: 'Read the instrument manual on that error number' },
  INSTRUMENT_SETTING_DIFFERS: { stops: 'step', next: 'Check the instrument front panel and its limits' },
  INSTRUMENT_OUT_OF_RANGE: { stops: 'request', next: 'Ask for a value inside the limits of the driver file' },
  BENCH_MIXED: { stops: 'service', next: 'Use a bench that is all real or all simulated' },
  BENCH_ADDRESS_UNKNOWN: {
    stops: 'service',
    next: 'Use a name that the simulated bench prints, or write the address into the bench file',
  },
  BENCH_NOBODY_MEASURES: { stops: 'request', next: 'Add an instrument for it to the bench file' },
  BENCH_GENERATOR_ON: {
    stops: 'step',
    next: 'Switch its RF off at its panel and see to its link, or take its lead off the radio and the generator out of the bench file',
  },
  BENCH_GENERATOR_REFUSED: {
    stops: 'request',
    next: 'Release the key and end the transmit step; the generator is switched on with the supply at its receive limit only',
  },
  KEEPER_GONE: {
    stops: 'supply',
    next: 'The supply output goes off by itself; look at the supply before going on, then start again',
  },
  KEEPER_REFUSED: { stops: 'supply', next: 'Do what it says, or check the limits in bench and procedure file' },
  KEEPER_TRIPPED: { stops: 'supply', next: 'Find the short or the wrong plug before clearing the trip at the supply' },
  KEEPER_SHORT: { stops: 'supply', next: 'Turn the supply plug round or find the short, then start again' },
  KEEPER_NOT_SAFE: { stops: 'supply', next: 'Switch the supply off by hand' },
  KEEPER_UNREADABLE: { stops: 'supply', next: 'Check the supply and its cable' },
  KEEPER_SUPPLY_DISAGREES: { stops: 'supply', next: 'Check the supply front panel and its limits' },
  JOB_REQUEST_REFUSED: { stops: 'request', next: 'See what the page offers now' },
  SERVER_FOREIGN: { stops: 'request', next: 'Open the page from the address that Trimwright printed' },
  SERVER_NOT_STEERING: { stops: 'request', next: 'Ask the page that steers to hand over' },
  SERVER_FRAME_REFUSED: { stops: 'request', next: 'Reload the page' },
  SERVER_PORT_TAKEN: { stops: 'service', next: 'Another Trimwright may be running: stop it, or use --port' },
  SERVER_PAGE_MISSING: { stops: 'service', next: 'Build the page with npm run build, then start again' },
  SERVER_FULL: { stops: 'request', next: 'Close pages that nobody looks at' },
  RECORD_MISSING: { stops: 'request', next: 'Check the path' },
  RECORD_BROKEN: { stops: 'request', next: 'Take it from a copy made before; what stands before that line is whole' },
  RECORD_CLOSED: { stops: 'request', next: 'Start a new job for this serial: what was closed is signed as it is' },
  RECORD_IN_USE: {
    stops: 'request',
    next: 'Close the job there, or stop that Trimwright; if none is running, delete the lock file that is named',
  },
  RECORD_WRITE_FAILED: {
    stops: 'step',
    next: 'Make room on the disk or check the folder, then go on: what is captured already is safe',
  },
  RECORD_KEY_OPEN: {
    stops: 'request',
    next: 'Take the rights of others away (chmod 600), or make a new key if others may have read it',
  },
  RECORD_KEY_KNOWN: { stops: 'request', next: 'Remove that file; a key of your own is made at the next record' },
  RECORD_KEY_UNREADABLE: { stops: 'request', next: 'Give a PEM file with an Ed25519 key' },
  COMMAND_USAGE: { stops: 'request', next: 'Add --help to see how the command is used' },
  SIMULATION_FAILED: { stops: 'service', next: 'Read the lines above it' },
} as const satisfies Record<string, { stops: Stops; next: string }>

export type FaultCode = keyof typeof FAULTS
