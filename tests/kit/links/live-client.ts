import { WebSocket } from 'ws'
import type { FromPage, ToPage } from '../../../src/schema/messages/shown.ts'

type Kind = ToPage['kind']
type Of<K extends Kind> = Extract<ToPage, { kind: K }>

/** A page as the server sees it: a WebSocket client that keeps what it is sent until it is taken. */
export interface LiveClient {
  readonly socket: WebSocket
  /** Takes the first message of that kind (that also fits `fits`), waiting for it where needed. */
  take<K extends Kind>(kind: K, fits?: (message: Of<K>) => boolean): Promise<Of<K>>
  /** What was sent and not taken. */
  readonly waiting: ToPage[]
  say(message: FromPage | string | Buffer): void
  /** Sends a request and takes its answer. */
  ask(message: Exclude<FromPage, { kind: 'here' }>): Promise<Of<'answer'>>
  /** Resolves with the close code. */
  readonly gone: Promise<number>
  close(): void
}

/** Connects as the page would. Rejects when it is not let in. */
export async function joinLive(server: { socketUrl: string; url: string; token: string }): Promise<LiveClient> {
  const socket = new WebSocket(server.socketUrl, `trimwright.${server.token}`, { origin: new URL(server.url).origin })
  const waiting: ToPage[] = []
  const takers = new Set<() => void>()
  socket.on('message', (data) => {
    waiting.push(JSON.parse(data.toString()))
    for (const taker of [...takers]) taker()
  })
  const gone = new Promise<number>((resolve) => socket.once('close', resolve))
  await new Promise<void>((resolve, reject) => {
    socket.once('open', () => resolve())
    socket.once('error', reject)
  })
  socket.on('error', () => {})

  const take = <K extends Kind>(kind: K, fits: (message: Of<K>) => boolean = () => true) =>
    new Promise<Of<K>>((resolve) => {
      const isWanted = (message: ToPage): message is Of<K> => message.kind === kind && fits(message as Of<K>) // its kind says so
      const look = () => {
        const found = waiting.find(isWanted)
        if (!found) return
        takers.delete(look)
        waiting.splice(waiting.indexOf(found), 1)
        resolve(found)
      }
      takers.add(look)
      look()
    })
  const say = (message: FromPage | string | Buffer) =>
    socket.send(typeof message === 'string' || Buffer.isBuffer(message) ? message : JSON.stringify(message))

  return {
    socket,
    waiting,
    take,
    say,
    ask: (message) => {
      say(message)
      return take('answer', (answer) => answer.id === message.id)
    },
    gone,
    close: () => socket.close(),
  }
}
