import { connect, type Socket } from 'node:net'

/** What the measuring process tells this one. */
export type Order =
  | {
      readonly do: 'join'
      readonly url: string
      readonly token: string
      readonly reading: number
      readonly stalled: number
    }
  | { readonly do: 'leave' }

/** What it hears back: that all are connected; or, per page, when each frame arrived. */
export type Report =
  | { readonly did: 'join' }
  | { readonly did: 'leave'; readonly arrivals: readonly (readonly Arrival[])[] }

/** Number of the frame, and when it stood ready for its page, by the machine's monotonic clock, which is one for all processes, ms. */
export type Arrival = readonly [seq: number, atMs: number]

// Pages in a process of their own, so that the service is not measured together with its clients. Thirty of them share
// this process, which thirty browsers would not; so they read the protocol with as little work as can be, and one page
// does not wait for another to be read.
let sockets: Socket[] = []
let arrivals: Arrival[][] = []

/** All pages read into this one place, one after the other: nothing is kept of a frame but its number. */
const desk = Buffer.alloc(64 * 1024)

process.on('message', async (message) => {
  const order = message as Order // our own parent sends nothing else
  if (order.do === 'join') {
    arrivals = Array.from({ length: order.reading + order.stalled }, () => [])
    sockets = await Promise.all(arrivals.map((list) => join(order, list)))
    for (const socket of sockets.slice(order.reading)) socket.pause()
    return report({ did: 'join' })
  }
  for (const socket of sockets) socket.destroy()
  report({ did: 'leave', arrivals })
})
process.on('disconnect', () => process.exit())

function report(message: Report): void {
  process.send?.(message)
}

/** Opens a live socket (RFC 6455, section 4.1) and notes the frames that arrive. */
function join(order: { url: string; token: string }, list: Arrival[]): Promise<Socket> {
  const { hostname, port, host, origin } = new URL(order.url)
  const handshake = [
    'GET /live HTTP/1.1',
    `Host: ${host}`,
    'Connection: Upgrade',
    'Upgrade: websocket',
    `Origin: ${origin}`,
    'Sec-WebSocket-Version: 13',
    'Sec-WebSocket-Key: dHJpbXdyaWdodCBwYWdlIQ==',
    `Sec-WebSocket-Protocol: trimwright.${order.token}`,
  ]
  return new Promise((resolve, reject) => {
    const noteFrames = openReader(list, (text) => socket.write(text))
    let greeting: Buffer | null = Buffer.alloc(0)
    const callback = (count: number) => {
      const bytes = desk.subarray(0, count)
      if (greeting === null) noteFrames(bytes)
      else {
        greeting = Buffer.concat([greeting, bytes])
        const end = greeting.indexOf('\r\n\r\n')
        if (end >= 0) {
          if (!greeting.toString('latin1').startsWith('HTTP/1.1 101 ')) reject(new Error(greeting.toString()))
          noteFrames(greeting.subarray(end + 4))
          greeting = null
          resolve(socket)
        }
      }
      return true
    }
    const socket = connect({ host: hostname, port: Number(port), noDelay: true, onread: { buffer: desk, callback } })
    socket.on('error', reject) // later ones are missed in the report
    socket.write(`${handshake.join('\r\n')}\r\n\r\n`)
  })
}

let roundMs: number | null = null

/**
 * When the bytes now being read stood ready. One round of the event loop reads every socket that had bytes when the round
 * began, so all of them were there by then; that they are read one after another is this process's own doing.
 */
function readyMs(): number {
  if (roundMs === null) {
    roundMs = Number(process.hrtime.bigint()) / 1e6
    setImmediate(() => {
      roundMs = null
    })
  }
  return roundMs
}

const TEXT = 0x1
const PING = 0x9
const NOTHING: Buffer = Buffer.alloc(0)

/** RFC 6455, section 5.2, as far as a server of ours uses it: whole frames, not masked, texts and pings. */
function openReader(list: Arrival[], write: (bytes: Buffer) => void): (bytes: Buffer) => void {
  let rest = NOTHING
  return (bytes) => {
    const atMs = readyMs()
    let left = rest.length === 0 ? bytes : Buffer.concat([rest, bytes])
    for (let frame = frameIn(left); frame !== null; frame = frameIn(left)) {
      left = left.subarray(frame.end)
      if (frame.opcode === TEXT) note(frame.payload, atMs, list)
      if (frame.opcode === PING) write(pong(frame.payload))
    }
    rest = left.length === 0 ? NOTHING : Buffer.from(left) // a copy: the next page reads into the same place
  }
}

function frameIn(bytes: Buffer): { opcode: number; payload: Buffer; end: number } | null {
  if (bytes.length < 2) return null
  const opcode = bytes.readUInt8(0) & 0x0f
  const short = bytes.readUInt8(1) & 0x7f
  const begin = short < 126 ? 2 : short === 126 ? 4 : 10
  if (bytes.length < begin) return null
  const length = short < 126 ? short : short === 126 ? bytes.readUInt16BE(2) : Number(bytes.readBigUInt64BE(2))
  const end = begin + length
  return bytes.length < end ? null : { opcode, payload: bytes.subarray(begin, end), end }
}

/** A client has to mask what it sends; a mask of zeros leaves it as it is. */
function pong(payload: Buffer): Buffer {
  return Buffer.concat([Buffer.from([0x8a, 0x80 | payload.length, 0, 0, 0, 0]), payload])
}

function note(payload: Buffer, atMs: number, list: Arrival[]): void {
  const seq = /^\{"kind":"frame","format":1,"seq":(\d+),/.exec(payload.toString('latin1', 0, 80))?.[1]
  if (seq !== undefined) list.push([Number(seq), atMs])
}
