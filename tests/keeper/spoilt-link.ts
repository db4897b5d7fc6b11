import { connect, createServer, type Socket } from 'node:net'

/** How a link is spoilt: bytes later (each way), replies twice, nothing from the supply, nothing to it, or new connections that are never answered. */
export type Spoilt =
  | { readonly kind: 'well' }
  | { readonly kind: 'late'; readonly ms: number }
  | { readonly kind: 'doubled' | 'deaf' | 'mute' | 'half open' }

/** A link in between that can be spoilt at any moment. */
export interface SpoiltLink {
  readonly address: string
  spoil(how: Spoilt): void
  close(): Promise<void>
}

/** Puts a link before the instrument at `address`, tcp://127.0.0.1:PORT. */
export async function spoilLink(address: string): Promise<SpoiltLink> {
  const port = Number(address.split(':').at(-1))
  let how: Spoilt = { kind: 'well' }
  const open = new Set<Socket>()
  const pass = (to: Socket, bytes: Buffer, fromSupply: boolean) => {
    if (how.kind === 'half open' || (how.kind === 'mute' && fromSupply) || (how.kind === 'deaf' && !fromSupply)) return
    const write = () => {
      if (to.writable) to.write(how.kind === 'doubled' && fromSupply ? Buffer.concat([bytes, bytes]) : bytes)
    }
    if (how.kind === 'late') setTimeout(write, how.ms)
    else write()
  }
  const server = createServer((client) => {
    const supply = connect(port, '127.0.0.1')
    for (const [one, other, fromSupply] of [
      [client, supply, false],
      [supply, client, true],
    ] as const) {
      open.add(one)
      one.setNoDelay(true)
      one.on('data', (bytes) => pass(other, bytes, fromSupply))
      one.on('error', () => {}) // its end follows
      one.on('close', () => {
        open.delete(one)
        other.destroy()
      })
    }
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const at = server.address()
  if (at === null || typeof at === 'string') throw new Error('no port')
  return {
    address: `tcp://127.0.0.1:${at.port}`,
    spoil: (next) => {
      how = next
    },
    close: () =>
      new Promise((resolve) => {
        for (const socket of open) socket.destroy()
        server.close(() => resolve())
      }),
  }
}
