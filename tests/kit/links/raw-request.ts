import { connect, type Socket } from 'node:net'

export interface RawReply {
  readonly status: number
  readonly headers: Readonly<Record<string, string>>
  readonly body: string
}

/** Sends exactly these header lines and reads until the server ends the connection, as no HTTP client of a browser would. */
export function rawRequest(port: number, lines: readonly string[]): Promise<RawReply> {
  return new Promise((resolve, reject) => {
    const socket = connect(port, '127.0.0.1', () => socket.write(`${lines.join('\r\n')}\r\n\r\n`))
    const chunks: Buffer[] = []
    socket.on('data', (chunk) => chunks.push(chunk))
    socket.on('error', reject)
    socket.on('close', () => resolve(replyOf(Buffer.concat(chunks).toString())))
  })
}

/** A connection that is open and says nothing. */
export function silentConnection(port: number): Promise<Socket> {
  return new Promise((resolve, reject) => {
    const socket = connect(port, '127.0.0.1', () => resolve(socket))
    socket.on('error', reject)
  })
}

function replyOf(text: string): RawReply {
  const [head = '', ...rest] = text.split('\r\n\r\n')
  const [first = '', ...lines] = head.split('\r\n')
  const headers = Object.fromEntries(
    lines.map((line) => {
      const at = line.indexOf(':')
      return [line.slice(0, at).toLowerCase(), line.slice(at + 1).trim()]
    }),
  )
  return { status: Number(first.split(' ')[1]), headers, body: rest.join('\r\n\r\n') }
}
