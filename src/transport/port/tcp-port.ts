import { connect, type Socket } from 'node:net'
import { BenchError, wordsOf } from '../../fault/bench-error.ts'
import type { FaultCode } from '../../fault/faults.ts'
import type { Clock } from '../../system/clock.ts'
import { unless, within } from '../../system/deadline.ts'
import { said, type Words } from '../../words/said/said.ts'
import { type BytePort, TAKEN } from './byte-port.ts'
import type { Opener, Refuse } from './opener.ts'
import { portEvents, portGone } from './port-events.ts'
import { CONNECT_MS, type PortNeeds } from './port-needs.ts'

/** Where an instrument is reached over the network. */
export interface TcpAddress {
  readonly kind: 'tcp'
  readonly host: string
  readonly port: number
}

/** The port number that instruments with a bare text socket use by custom. */
const USUAL_TCP_PORT = 5025
/** An idle connection is probed after this, ms; a question in flight has its own deadline, which no probe replaces. */
const KEEP_ALIVE_MS = 5000
/** How long the other side may take to agree to the end, ms. */
const CLOSE_MS = 500

/** "tcp://192.168.1.40:5025": a bare text socket on the network. */
export const tcp: Opener = (rest, refuse) => {
  const address = readTcp(rest, refuse)
  const { host, port } = address
  return {
    kind: { name: 'tcp', pauses: 'onNetwork', alone: false, beats: true, turnsAway: true },
    address,
    name: `tcp://${host}:${port}`,
    stays: true,
    place: () => `tcp ${host.toLowerCase()} ${port}`,
    ahead: async () => {},
    open: (needs) => openTcpPort(address, needs),
  }
}

function readTcp(rest: string, refuse: Refuse): TcpAddress {
  const found = /^\/\/(?:\[([0-9a-fA-F:.]+)\]|([A-Za-z0-9._-]+))(?::(\d+))?\/?$/.exec(rest)
  if (!found) throw refuse(said('address.host'))
  const host = found[1] ?? found[2] ?? ''
  const port = found[3] === undefined ? USUAL_TCP_PORT : Number.parseInt(found[3], 10)
  if (port < 1 || port > 65535) throw refuse(said('address.port-number', { port }))
  return { kind: 'tcp', host, port }
}

/** Connects within 3 s. Throws TRANSPORT_OPEN_FAILED, TRANSPORT_DENIED, or `signal.reason` untouched. */
export async function openTcpPort(address: TcpAddress, needs: PortNeeds): Promise<BytePort> {
  const { host, port } = address
  const name = `tcp://${host.includes(':') ? `[${host}]` : host}:${port}`
  const socket = connect({
    host,
    port,
    family: 4, // a name that also has an IPv6 address often leads to a card nobody plugged in
    noDelay: true,
    keepAlive: true,
    keepAliveInitialDelay: KEEP_ALIVE_MS,
  })
  const wired = wire(socket, name, needs.clock)
  try {
    await within(needs.clock, CONNECT_MS, unless(connected(socket), [needs.signal]), () => {
      const silent = said('port.no-answer-in-time', { name, time: `${CONNECT_MS} ms` })
      throw new BenchError('TRANSPORT_OPEN_FAILED', needs.who, silent)
    })
    return wired
  } catch (error) {
    socket.destroy()
    needs.signal.throwIfAborted()
    throw error instanceof BenchError ? error : tcpOpenFault(error, name, needs.who)
  }
}

function connected(socket: Socket): Promise<void> {
  return new Promise((resolve, reject) => {
    socket.once('connect', resolve)
    socket.once('error', reject)
  })
}

/** The socket as a byte port: it stays a port of one connection, errors end it, and a write after that is refused. */
function wire(socket: Socket, name: string, clock: Clock): BytePort {
  const events = portEvents()
  const gone = (why: Words) => events.gone(portGone(name, why))
  let failure: Error | undefined
  let closing: Promise<void> | undefined
  socket.on('data', events.bytes)
  socket.on('end', () => gone(said('port.closed-by-other', { name })))
  socket.on('error', (error) => {
    failure = error
  })
  socket.once('close', () =>
    gone(failure ? said('port.cut', { name, why: failure.message }) : said('port.gone', { name })),
  )

  const close = async () => {
    events.mute()
    gone(said('port.closed', { name }))
    if (socket.destroyed) return
    const ended = new Promise<void>((resolve) => socket.once('close', () => resolve()))
    socket.end() // says goodbye, so that an instrument with room for one client has room again
    await within(clock, CLOSE_MS, ended, () => {}) // not answered: cut off
    socket.destroy()
  }

  return {
    address: name,
    write: (text) => {
      const over = events.goneBecause()
      if (over) return Promise.reject(over)
      socket.write(text, 'latin1')
      if (socket.writableLength === 0) return TAKEN // the system took it at once, as it does unless the other side has stopped reading
      return new Promise((resolve, reject) => socket.write('', (error) => (error ? reject(error) : resolve())))
    },
    onBytes: events.onBytes,
    onGone: events.onGone,
    close: () => {
      closing ??= close()
      return closing
    },
  }
}

/** Says in words why a connection did not come about, by the operating system's code. */
export function tcpOpenFault(error: unknown, name: string, who: string): BenchError {
  const code = error instanceof Error && 'code' in error ? String(error.code) : ''
  const known = OPEN_WORDS[code]
  if (!known) return new BenchError(OPEN_FAILED, who, said('port.not-reached', { name, why: wordsOf(error) }), error)
  const [fault, words] = known
  return new BenchError(fault, who, said(words, { name }), error)
}

const OPEN_FAILED = 'TRANSPORT_OPEN_FAILED'
type OpenWords =
  | 'port.refused'
  | 'port.cut-at-once'
  | 'port.unreachable-address'
  | 'port.unreachable-network'
  | 'port.no-answer'
  | 'port.unknown-name'
  | 'port.name-not-looked-up'
  | 'port.denied'
const OPEN_WORDS: Readonly<Record<string, readonly [FaultCode, OpenWords]>> = {
  ECONNREFUSED: [OPEN_FAILED, 'port.refused'],
  ECONNRESET: ['TRANSPORT_BUSY', 'port.cut-at-once'],
  EHOSTUNREACH: [OPEN_FAILED, 'port.unreachable-address'],
  ENETUNREACH: [OPEN_FAILED, 'port.unreachable-network'],
  ETIMEDOUT: [OPEN_FAILED, 'port.no-answer'],
  ENOTFOUND: [OPEN_FAILED, 'port.unknown-name'],
  EAI_AGAIN: [OPEN_FAILED, 'port.name-not-looked-up'],
  EACCES: ['TRANSPORT_DENIED', 'port.denied'],
  EPERM: ['TRANSPORT_DENIED', 'port.denied'],
}
