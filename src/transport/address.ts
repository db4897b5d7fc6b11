import { BenchError } from '../fault/bench-error.ts'

/** Where an instrument is reached over the network. */
export interface TcpAddress {
  readonly kind: 'tcp'
  readonly host: string
  readonly port: number
}

/** A serial port and its frame; `baud` in bits per second. */
export interface SerialAddress {
  readonly kind: 'serial'
  readonly path: string
  readonly baud: number
  readonly dataBits: 7 | 8
  readonly parity: 'none' | 'even' | 'odd'
  readonly stopBits: 1 | 2
}

/** An instrument in the same process, on the same clock. */
export interface MemoryAddress {
  readonly kind: 'memory'
  readonly name: string
}

/** Where an instrument is reached, whichever way. */
export type Address = TcpAddress | SerialAddress | MemoryAddress

/** The port number that instruments with a bare text socket use by custom. */
const USUAL_TCP_PORT = 5025
const PARITIES = { N: 'none', E: 'even', O: 'odd' } as const

/**
 * Reads "tcp://192.168.1.40:5025" (port 5025 when left out), "serial:/dev/ttyUSB0?baud=9600&format=7E1" (9600 and 8N1 when
 * left out) or "memory:power". Throws TRANSPORT_ADDRESS.
 */
export function readAddress(text: string): Address {
  const refuse = (happened: string) => new BenchError('TRANSPORT_ADDRESS', `address "${text}"`, happened)
  const [, scheme, rest] = /^([a-z]+):(.*)$/.exec(text.trim()) ?? []
  if (scheme === undefined || rest === undefined) throw refuse('it does not say how to get there')
  if (/\s/.test(rest)) throw refuse('it holds a blank')
  switch (scheme) {
    case 'tcp':
      return readTcp(rest, refuse)
    case 'serial':
      return readSerial(rest, refuse)
    case 'memory':
      if (!/^[\w.-]+$/.test(rest)) throw refuse('memory: is followed by a name of letters, digits, "-", "_" and "."')
      return { kind: 'memory', name: rest }
    default:
      throw refuse(`"${scheme}:" is not a way to an instrument`)
  }
}

type Refuse = (happened: string) => BenchError

function readTcp(rest: string, refuse: Refuse): TcpAddress {
  const found = /^\/\/(?:\[([0-9a-fA-F:.]+)\]|([A-Za-z0-9._-]+))(?::(\d+))?\/?$/.exec(rest)
  if (!found) throw refuse('the host, and after a colon the port number, are not readable')
  const host = found[1] ?? found[2] ?? ''
  const port = found[3] === undefined ? USUAL_TCP_PORT : Number.parseInt(found[3], 10)
  if (port < 1 || port > 65535) throw refuse(`port ${port} does not exist: ports go from 1 to 65535`)
  return { kind: 'tcp', host, port }
}

function readSerial(rest: string, refuse: Refuse): SerialAddress {
  const [path = '', query = '', ...more] = rest.split('?')
  if (path === '') throw refuse('the name of the port is missing')
  if (more.length > 0) throw refuse('it holds more than one "?"')
  let baud = 9600
  let format = '8N1'
  for (const [key, value] of new URLSearchParams(query)) {
    if (key === 'baud') baud = /^[1-9]\d{0,6}$/.test(value) ? Number.parseInt(value, 10) : 0
    else if (key === 'format') format = value.toUpperCase()
    else throw refuse(`"${key}" is not known here: only baud and format are`)
  }
  if (baud === 0) throw refuse('baud is not a whole number of bits per second')
  const [, bits, parity, stops] = /^([78])([NEO])([12])$/.exec(format) ?? []
  if (bits === undefined || (parity !== 'N' && parity !== 'E' && parity !== 'O')) {
    throw refuse(`format ${format} is not data bits 7 or 8, parity N, E or O, stop bits 1 or 2, like 7E1`)
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
