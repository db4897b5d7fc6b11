import { type AddressInfo, connect, createServer, type Socket } from 'node:net'

/** A way to this machine that a test can cut, as a cable or a wireless link is cut: SOCKS 5 without a password (RFC 1928). */
export interface CuttableProxy {
  /** For a browser: "socks5://127.0.0.1:PORT". */
  readonly server: string
  /** Every connection breaks, and new ones break at once until `mend`. */
  cut(): void
  mend(): void
  close(): Promise<void>
}

const IPV4 = 1
const GREETED = Buffer.from([5, 0])
const CONNECTED = Buffer.from([5, 0, 0, IPV4, 0, 0, 0, 0, 0, 0])

/** Where a request wants to go: an IPv4 address, or a name after its length. */
function placeIn(request: Buffer): { readonly host: string; readonly port: number } {
  const host = request[3] === IPV4 ? [...request.subarray(4, 8)].join('.') : request.subarray(5, -2).toString()
  return { host, port: request.readUInt16BE(request.length - 2) }
}

/** Listens on a free port. */
export async function openCuttableProxy(): Promise<CuttableProxy> {
  const sockets = new Set<Socket>()
  let whole = true
  const mind = (socket: Socket) => {
    sockets.add(socket)
    socket.on('error', () => {}) // cut on purpose
    socket.on('close', () => sockets.delete(socket))
  }
  const server = createServer((near) => {
    mind(near)
    if (!whole) return near.destroy()
    near.once('data', () => {
      near.write(GREETED)
      near.once('data', (request) => {
        const far = connect(placeIn(request), () => near.write(CONNECTED))
        mind(far)
        near.pipe(far).pipe(near)
        near.on('close', () => far.destroy())
        far.on('close', () => near.destroy())
      })
    })
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const { port } = server.address() as AddressInfo // it listens on TCP
  const cut = () => {
    whole = false
    for (const socket of sockets) socket.resetAndDestroy()
  }
  return {
    server: `socks5://127.0.0.1:${port}`,
    cut,
    mend: () => {
      whole = true
    },
    close: () => {
      cut()
      return new Promise((resolve) => server.close(() => resolve()))
    },
  }
}
