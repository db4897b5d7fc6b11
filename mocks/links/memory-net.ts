import type { SimulatedInstrument } from '../unit/instrument.ts'
import type { Session } from '../unit/line-session.ts'
import type { LineServer } from './line-server.ts'

/** One way for bytes inside the process; the same shape as the transport's byte port. */
export interface MemoryPort {
  readonly address: string
  write(text: string): Promise<void>
  onBytes(listener: (bytes: Buffer) => void): void
  onGone(listener: (reason: Error) => void): void
  close(): Promise<void>
}

/** Instruments reached by name without sockets. Bytes arrive without time passing; what takes time is the instrument. */
export interface SimulatedNet {
  connect(name: string): MemoryPort
  /** Puts an instrument on the net. */
  serve(instrument: SimulatedInstrument): LineServer
}

interface Socket {
  readonly instrument: SimulatedInstrument
  plugged: boolean
  client: { cut(reason: string): void } | null
}

/** A net without instruments. */
export function createSimulatedNet(): SimulatedNet {
  const sockets = new Map<string, Socket>()
  return {
    serve: (instrument) => {
      const socket: Socket = { instrument, plugged: true, client: null }
      sockets.set(instrument.name, socket)
      const unplug = async () => {
        socket.plugged = false
        socket.client?.cut('cable out')
      }
      return {
        address: `memory:${instrument.name}`,
        unplug,
        plug: async () => {
          socket.plugged = true
        },
        close: unplug,
      }
    },
    connect: (name) => connect(sockets.get(name), name),
  }
}

function connect(socket: Socket | undefined, name: string): MemoryPort {
  let heard: (bytes: Buffer) => void = () => {}
  let told: (reason: Error) => void = () => {}
  let over: Error | null = null
  let session: Session | null = null

  const client = {
    cut: (reason: string) => {
      if (over) return
      over = new Error(`memory:${name}: ${reason}`)
      session?.end()
      if (socket?.client === client) socket.client = null
      const why = over
      queueMicrotask(() => told(why))
    },
  }
  if (socket?.plugged) {
    socket.client?.cut('another client took over')
    socket.client = client
    session = socket.instrument.attach({
      send: (bytes) =>
        queueMicrotask(() => {
          if (!over) heard(Buffer.from(bytes, 'latin1'))
        }),
    })
  } else {
    client.cut(socket ? 'nobody answers' : 'no such instrument')
  }
  return {
    address: `memory:${name}`,
    write: async (text) => {
      if (over) throw over
      session?.receive(text)
    },
    onBytes: (listener) => {
      heard = listener
    },
    onGone: (listener) => {
      told = listener
    },
    close: async () => {
      told = () => {}
      client.cut('closed')
    },
  }
}
