import { createServer, type Socket } from 'node:net'

/** A server on 127.0.0.1 that speaks lines, for what only a real socket can show. */
export interface LineServer {
  readonly port: number
  readonly address: string
  /** Every line heard on any connection. */
  readonly heard: string[]
  readonly sockets: Set<Socket>
  close(): Promise<void>
}

/** `onLine` says whether it has dealt with the line; the common commands *ESE, *CLS, *IDN? are answered when it has not. */
export async function openLineServer(onLine: (line: string, socket: Socket) => boolean): Promise<LineServer> {
  const heard: string[] = []
  const sockets = new Set<Socket>()
  const server = createServer({ noDelay: true }, (socket) => {
    sockets.add(socket)
    let held = ''
    let enabled = '0'
    socket.on('error', () => {}) // the other side may cut the connection in the middle of a test
    socket.on('close', () => sockets.delete(socket))
    socket.on('data', (chunk: Buffer) => {
      const lines = (held + chunk.toString('latin1')).split('\n')
      held = lines.pop() ?? ''
      for (const line of lines) {
        heard.push(line)
        if (onLine(line, socket)) continue
        if (line.startsWith('*ESE ')) enabled = line.slice(5)
        else if (line === '*ESE?') socket.write(`${enabled}\n`)
        else if (line === '*IDN?') socket.write('EXAMPLE,SOCKET,0,1\n')
      }
    })
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const at = server.address()
  if (at === null || typeof at === 'string') throw new Error('the server has no port')
  return {
    port: at.port,
    address: `tcp://127.0.0.1:${at.port}`,
    heard,
    sockets,
    close: async () => {
      for (const socket of sockets) socket.destroy()
      await new Promise<void>((resolve) => server.close(() => resolve()))
    },
  }
}
