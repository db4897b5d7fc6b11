import { connect, createServer, type Socket } from 'node:net'
import { servePty } from '../../mocks/links/pty-line.ts'
import type { InstrumentLine, Session } from '../../mocks/unit/line-session.ts'
import type { Rng } from '../../src/system/rng.ts'

/**
 * How a link is spoilt: connections and bytes later (each way, in order; what is under way on a connection that is closed is lost); a share of the commands with one wrong character; replies twice; nothing to the
 * supply (deaf), nothing from it (mute), neither (half open); or the connection cut and none to be had (cut).
 */
export type Spoilt =
  | { readonly kind: 'well' }
  | { readonly kind: 'late'; readonly ms: number }
  | { readonly kind: 'garbled'; readonly share: number }
  | { readonly kind: 'doubled' | 'deaf' | 'mute' | 'half open' | 'cut' }

/** A network socket, or a serial line played by a pseudo-terminal. */
export type LinkKind = 'tcp' | 'pty'

/** A link in between that can be spoilt at any moment. */
export interface SpoiltLink {
  readonly address: string
  spoil(how: Spoilt): void
  /** Calls `act` when half of the next command has passed, so that what it does falls into the middle of an exchange; after 1 s without a command all the same. */
  midExchange(act: () => void): Promise<void>
  close(): Promise<void>
}

/** Puts a link before the instrument at `address`, tcp://127.0.0.1:PORT. */
export async function spoilLink(address: string, kind: LinkKind, rng: Rng): Promise<SpoiltLink> {
  const middle = openMiddle(rng)
  const port = Number(address.split(':').at(-1))
  const front = kind === 'tcp' ? await tcpFront(port, middle) : await ptyFront(port, middle)
  return {
    address: front.address,
    spoil: (how) => {
      middle.spoil(how)
      front.cut(how.kind === 'cut')
    },
    midExchange: middle.midExchange,
    close: front.close,
  }
}

/** One direction of one connection, with what is still under way on it. Nothing is sent before there is a connection. */
interface Way {
  readonly send: (bytes: Buffer) => void
  readonly openMs: number
  readonly late: { readonly dueMs: number; readonly bytes: Buffer }[]
  timer: NodeJS.Timeout | null
}

const wayTo = (send: Way['send'], openMs = 0): Way => ({ send, openMs, late: [], timer: null })

interface Middle {
  spoil(how: Spoilt): void
  midExchange(act: () => void): Promise<void>
  /** How much later than usual everything is, ms. */
  lateMs(): number
  toSupply(way: Way, bytes: Buffer): void
  fromSupply(way: Way, bytes: Buffer): void
}

const COMMAND_WITHIN_MS = 1000

/** What becomes of bytes that pass. */
function openMiddle(rng: Rng): Middle {
  let how: Spoilt = { kind: 'well' }
  let waiting: (() => void) | null = null

  const lateMs = () => (how.kind === 'late' ? how.ms : 0)
  const deliver = (way: Way, bytes: Buffer, fromSupply: boolean) => {
    if (how.kind === 'half open' || how.kind === 'cut' || how.kind === (fromSupply ? 'mute' : 'deaf')) return
    if (how.kind === 'doubled' && fromSupply) return put(way, Buffer.concat([bytes, bytes]), 0)
    if (how.kind === 'garbled' && !fromSupply) return put(way, garbled(bytes, how.share, rng), 0)
    put(way, bytes, lateMs())
  }
  return {
    lateMs,
    spoil: (next) => {
      how = next
    },
    midExchange: (act) =>
      new Promise((resolve) => {
        const once = () => {
          clearTimeout(timer)
          waiting = null
          act()
          resolve()
        }
        const timer = setTimeout(once, COMMAND_WITHIN_MS)
        waiting = once
      }),
    toSupply: (way, bytes) => {
      if (!waiting || bytes.length < 2) return deliver(way, bytes, false)
      const half = Math.floor(bytes.length / 2)
      deliver(way, bytes.subarray(0, half), false)
      waiting()
      deliver(way, bytes.subarray(half), false)
    },
    fromSupply: (way, bytes) => deliver(way, bytes, true),
  }
}

function put(way: Way, bytes: Buffer, lateMs: number): void {
  const nowMs = performance.now()
  const dueMs = Math.max(nowMs + lateMs, way.late.at(-1)?.dueMs ?? way.openMs)
  if (dueMs <= nowMs) way.send(bytes)
  else way.late.push({ dueMs, bytes })
  if (way.timer === null) wake(way)
}

function wake(way: Way): void {
  way.timer = null
  const nowMs = performance.now()
  for (let first = way.late[0]; first && first.dueMs <= nowMs; first = way.late[0]) {
    way.late.shift()
    way.send(first.bytes)
  }
  const [next] = way.late
  if (next) way.timer = setTimeout(() => wake(way), Math.ceil(next.dueMs - nowMs))
}

/** In this share of the commands one character is another one. */
function garbled(bytes: Buffer, share: number, rng: Rng): Buffer {
  const lines = bytes.toString('latin1').split('\n')
  const spoilt = lines.map((line) => {
    if (line === '' || rng() >= share) return line
    const at = Math.floor(rng() * line.length)
    const other = String.fromCharCode(33 + ((line.charCodeAt(at) - 33 + 1 + Math.floor(rng() * 93)) % 94))
    return line.slice(0, at) + other + line.slice(at + 1)
  })
  return Buffer.from(spoilt.join('\n'), 'latin1')
}

interface Front {
  readonly address: string
  cut(isCut: boolean): void
  close(): Promise<void>
}

async function tcpFront(port: number, middle: Middle): Promise<Front> {
  let isCut = false
  const open = new Set<Socket>()
  const mind = (socket: Socket, whenClosed: () => void) => {
    open.add(socket)
    socket.setNoDelay(true)
    socket.on('error', () => {}) // its end follows
    socket.on('close', () => {
      open.delete(socket)
      whenClosed()
    })
  }
  const server = createServer((client) => {
    if (isCut) return void client.destroy()
    const lateMs = middle.lateMs()
    let supply: Socket | null = null
    const back = wayTo((bytes) => client.writable && client.write(bytes))
    const reach = () => {
      supply = connect(port, '127.0.0.1')
      supply.on('data', (bytes) => middle.fromSupply(back, bytes))
      mind(supply, () => client.destroy())
    }
    const timer = lateMs > 0 ? setTimeout(reach, lateMs) : null
    if (timer === null) reach()
    const there = wayTo((bytes) => supply?.writable && supply.write(bytes), performance.now() + lateMs)
    client.on('data', (bytes) => middle.toSupply(there, bytes))
    mind(client, () => {
      clearTimeout(timer ?? undefined)
      supply?.destroy()
    })
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const at = server.address()
  if (at === null || typeof at === 'string') throw new Error('no port')
  const drop = () => {
    for (const socket of open) socket.destroy()
  }
  return {
    address: `tcp://127.0.0.1:${at.port}`,
    cut: (now) => {
      isCut = now
      if (now) drop()
    },
    close: () =>
      new Promise((resolve) => {
        drop()
        server.close(() => resolve())
      }),
  }
}

/** The adapter of a serial line keeps its connection to the supply, whoever opens and closes the port. */
async function ptyFront(port: number, middle: Middle): Promise<Front> {
  const supply = connect(port, '127.0.0.1')
  supply.setNoDelay(true)
  await new Promise<void>((resolve, reject) => supply.once('connect', resolve).once('error', reject))
  supply.on('error', () => {}) // the bench is closed
  const there = wayTo((bytes) => supply.writable && supply.write(bytes))
  let line: InstrumentLine | null = null
  const back = wayTo((bytes) => line?.send(bytes.toString('latin1')))
  supply.on('data', (bytes) => middle.fromSupply(back, bytes))
  const attach = (to: InstrumentLine): Session => {
    line = to
    return {
      receive: (text) => middle.toSupply(there, Buffer.from(text, 'latin1')),
      end: () => {
        line = null
      },
    }
  }
  const server = await servePty({ name: 'supply', identity: '', attach, powerCycle: () => {}, restart: () => {} })
  let plugging: Promise<void> = Promise.resolve()
  let isCut = false
  return {
    address: server.address,
    cut: (now) => {
      if (now === isCut) return
      isCut = now
      plugging = plugging.then(now ? server.unplug : server.plug)
    },
    close: async () => {
      await plugging
      await server.close()
      supply.destroy()
    },
  }
}
