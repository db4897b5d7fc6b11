import { createServer, type Server, type Socket } from 'node:net'
import { BenchError } from '../../src/fault/bench-error.ts'
import type { SimulatedInstrument } from '../unit/instrument.ts'
import type { LineServer } from './line-server.ts'

/** Serves an instrument on a free TCP port of 127.0.0.1. One client at a time: a new one replaces the old. Throws SIMULATION_FAILED. */
export async function serveTcp(instrument: SimulatedInstrument): Promise<LineServer> {
  let client: Socket | null = null
  let server: Server | null = null
  const accept = (socket: Socket) => {
    client?.destroy()
    client = socket
    socket.setNoDelay(true)
    const session = instrument.attach({ send: (bytes) => void socket.write(Buffer.from(bytes, 'latin1')) })
    socket.on('data', (bytes: Buffer) => session.receive(bytes.toString('latin1')))
    // A client that goes away rudely is as gone as one that says goodbye; 'close' follows either way.
    socket.on('error', () => {})
    socket.on('close', () => {
      session.end()
      if (client === socket) client = null
    })
  }
  const open = (port: number): Promise<number> =>
    new Promise((resolve, reject) => {
      const opening = createServer(accept)
      opening.once('error', (error) =>
        reject(
          new BenchError('SIMULATION_FAILED', instrument.name, `no port for it on 127.0.0.1 (${error.message})`, error),
        ),
      )
      opening.listen(port, '127.0.0.1', () => {
        server = opening
        const at = opening.address()
        resolve(typeof at === 'object' && at !== null ? at.port : port)
      })
    })
  const shut = (): Promise<void> =>
    new Promise((resolve) => {
      const closing = server
      server = null
      client?.destroy()
      client = null
      if (closing) closing.close(() => resolve())
      else resolve()
    })

  const port = await open(0)
  return {
    address: `tcp://127.0.0.1:${port}`,
    unplug: shut,
    plug: async () => {
      if (!server) await open(port)
    },
    close: shut,
  }
}
