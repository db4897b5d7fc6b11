import { realpathSync } from 'node:fs'
import type { SerialPort } from 'serialport'
import { BenchError, wordsOf } from '../../fault/bench-error.ts'
import type { Clock } from '../../system/clock.ts'
import { unless, within } from '../../system/deadline.ts'
import { said, type Words } from '../../words/said/said.ts'
import type { BytePort } from './byte-port.ts'
import type { Opener, Refuse } from './opener.ts'
import { portEvents, portGone } from './port-events.ts'
import { CONNECT_MS, type PortNeeds } from './port-needs.ts'

/** A serial port and its frame; `baud` in bits per second. */
export interface SerialAddress {
  readonly kind: 'serial'
  readonly path: string
  readonly baud: number
  readonly dataBits: 7 | 8
  readonly parity: 'none' | 'even' | 'odd'
  readonly stopBits: 1 | 2
}

const PARITIES = { N: 'none', E: 'even', O: 'odd' } as const
/** Serial ports that get another number when they are plugged in again: somebody else may be there. */
const RENUMBERED = /^(\/dev\/(ttyUSB|ttyACM|cu\.|tty\.)|COM\d)/i
/** A port that does not close within this is abandoned, ms: a driver may hold it for half a minute. */
const CLOSE_MS = 2000

/** "serial:/dev/ttyUSB0?baud=9600&format=7E1": a line with room for one, slower than a network socket. */
export const serial: Opener = (rest, refuse) => {
  const address = readSerial(rest, refuse)
  const { path } = address
  return {
    kind: { name: 'serial', pauses: 'onSerial', alone: true, beats: false, turnsAway: false },
    address,
    name: `serial:${path}`,
    stays: !RENUMBERED.test(path),
    place: () => {
      try {
        return `serial ${realpathSync(path)}`
      } catch {
        return `serial ${path}` // not plugged in
      }
    },
    ahead: loadSerialAhead,
    open: (needs) => openSerialPort(address, needs),
  }
}

function readSerial(rest: string, refuse: Refuse): SerialAddress {
  const [path = '', query = '', ...more] = rest.split('?')
  if (path === '') throw refuse(said('address.no-port'))
  if (more.length > 0) throw refuse(said('address.two-questions'))
  let baud = 9600
  let format = '8N1'
  for (const [key, value] of new URLSearchParams(query)) {
    if (key === 'baud') baud = /^[1-9]\d{0,6}$/.test(value) ? Number.parseInt(value, 10) : 0
    else if (key === 'format') format = value.toUpperCase()
    else throw refuse(said('address.unknown-key', { key }))
  }
  if (baud === 0) throw refuse(said('address.baud'))
  const [, bits, parity, stops] = /^([78])([NEO])([12])$/.exec(format) ?? []
  if (bits === undefined || (parity !== 'N' && parity !== 'E' && parity !== 'O')) {
    throw refuse(said('address.format', { format }))
  }
  return {
    kind: 'serial',
    path,
    baud,
    dataBits: bits === '7' ? 7 : 8,
    parity: PARITIES[parity],
    stopBits: stops === '2' ? 2 : 1,
  }
}

/**
 * Opens a serial port: no flow control, all modem lines on, one object for this one attempt. Throws TRANSPORT_OPEN_FAILED,
 * TRANSPORT_BUSY, TRANSPORT_DENIED, or `signal.reason` untouched.
 */
export async function openSerialPort(address: SerialAddress, needs: PortNeeds): Promise<BytePort> {
  const { who, clock, signal, log } = needs
  // With io_uring a pending read keeps the lock of a closed port until the program ends.
  if (process.env.UV_USE_IO_URING === '1') {
    throw new BenchError('TRANSPORT_OPEN_FAILED', who, said('port.io-uring'))
  }
  const Port = await loadSerialPort(who)
  const serial = construct(Port, address, who)
  const wired = wire(serial, `serial:${serial.path}`, clock)
  try {
    await within(clock, CONNECT_MS, unless(opened(serial), [signal]), () => {
      throw new BenchError(
        'TRANSPORT_OPEN_FAILED',
        who,
        said('port.not-open-in-time', { name: serial.path, time: `${CONNECT_MS} ms` }),
      )
    })
  } catch (error) {
    // An open that comes about after all is closed by whoever asked for it.
    serial.once('open', () => serial.close(() => {}))
    if (serial.isOpen) serial.close(() => {})
    signal.throwIfAborted()
    throw error instanceof BenchError ? error : serialOpenFault(error, serial.path, who)
  }
  // Some adapters are powered by these lines; a pseudo-terminal has none and refuses.
  serial.set({ dtr: true, rts: true, brk: false }, (error) => {
    if (error) log.info({ who, error: error.message }, 'the port has no modem lines to set')
  })
  return wired
}

/** Loads the native part. Never rejects. */
async function loadSerialAhead(): Promise<void> {
  await loadSerialPort('serial').catch(() => {}) // whoever opens a port is told
}

/** Loaded when the first serial port is wanted: the program runs without the native part, on network and simulated instruments. */
async function loadSerialPort(who: string): Promise<typeof SerialPort> {
  try {
    return (await import('serialport')).SerialPort
  } catch (error) {
    const why = said('port.no-serial-part', { why: wordsOf(error) })
    throw new BenchError('TRANSPORT_OPEN_FAILED', who, why, error)
  }
}

function construct(Port: typeof SerialPort, address: SerialAddress, who: string): SerialPort {
  try {
    return new Port({
      path: address.path.replace(/^\/dev\/tty\./, '/dev/cu.'), // the twin name that does not wait for a carrier
      baudRate: address.baud,
      dataBits: address.dataBits,
      parity: address.parity,
      stopBits: address.stopBits,
      rtscts: false,
      xon: false,
      xoff: false,
      xany: false,
      lock: true,
      hupcl: true,
      autoOpen: false,
      endOnClose: false,
      highWaterMark: 16 * 1024,
    })
  } catch (error) {
    throw serialOpenFault(error, address.path, who)
  }
}

function opened(serial: SerialPort): Promise<void> {
  return new Promise((resolve, reject) => serial.open((error) => (error ? reject(error) : resolve())))
}

/** The port object as a byte port. It is never opened again: a port object that has errored reads nothing for ever. */
function wire(serial: SerialPort, name: string, clock: Clock): BytePort {
  const events = portEvents()
  const gone = (why: Words, cause?: unknown) => events.gone(portGone(name, why, cause))
  let closing: Promise<void> | undefined
  // Before open, and never paused: only a pending read notices that the plug is out.
  serial.on('data', events.bytes)
  serial.on('error', (error) => gone(said('port.failed', { name, why: error.message }), error))
  serial.on('close', () => gone(said('port.unplugged', { name })))

  const close = async () => {
    events.mute()
    gone(said('port.closed', { name }))
    if (!serial.isOpen) return
    const closed = new Promise<void>((resolve) => serial.close(() => resolve()))
    await within(clock, CLOSE_MS, closed, () => {}) // left behind
  }

  return {
    address: name,
    write: (text) =>
      new Promise((resolve, reject) => {
        const gone = events.goneBecause() ?? (serial.isOpen ? null : portGone(name, said('port.not-open', { name })))
        if (gone) return reject(gone) // a closed port object would keep the bytes and send them when opened again
        serial.write(text, 'latin1', (error) => (error ? reject(error) : resolve()))
      }),
    onBytes: events.onBytes,
    onGone: events.onGone,
    close: () => {
      closing ??= close()
      return closing
    },
  }
}

/** Says in words why a port did not open; the library gives the operating system's text and no code. */
export function serialOpenFault(error: unknown, path: string, who: string): BenchError {
  const words = wordsOf(error)
  if (/permission denied|EACCES|EPERM/i.test(words)) {
    return new BenchError('TRANSPORT_DENIED', who, said('port.not-permitted', { name: path }), error)
  }
  // One operating system says "access denied" for a port that another program holds.
  if (/cannot lock|EBUSY|busy|temporarily unavailable|access denied/i.test(words)) {
    return new BenchError('TRANSPORT_BUSY', who, said('port.held', { name: path }), error)
  }
  if (/no such file|ENOENT|ENXIO|file not found|no such device/i.test(words)) {
    return new BenchError('TRANSPORT_OPEN_FAILED', who, said('port.not-there', { name: path }), error)
  }
  return new BenchError('TRANSPORT_OPEN_FAILED', who, said('port.not-opened', { name: path, why: words }), error)
}
