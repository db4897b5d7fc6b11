import type { IncomingMessage } from 'node:http'
import type { AddressInfo } from 'node:net'
import type { Duplex } from 'node:stream'
import Fastify, { type FastifyReply } from 'fastify'
import { BenchError, wordsOf } from '../fault/bench-error.ts'
import type { Log } from '../system/log.ts'
import { allowedHosts, hostRefusal, upgradeRefusal } from './guard.ts'
import type { Live } from './live.ts'
import type { PageFile } from './page-files.ts'

export interface HttpOptions {
  readonly host: '127.0.0.1' | '::1'
  /** 0 takes a free one. */
  readonly port: number
  /** Further host names under which this machine is reached. */
  readonly names: readonly string[]
  readonly files: ReadonlyMap<string, PageFile>
  readonly token: string
  readonly live: Live
  readonly log: Log
}

/** The page's files over HTTP, and the door to the live socket. */
export interface Http {
  readonly port: number
  /** Pages first, then everything else. Idempotent; logs, never throws. */
  close(): Promise<void>
}

/** Sockets at a time, pages and files together. */
const MAX_CONNECTIONS = 256

const HEADERS = {
  'Cache-Control': 'no-store',
  'Content-Security-Policy':
    "default-src 'self'; connect-src 'self'; img-src 'self' data:; style-src 'self'; script-src 'self'; frame-ancestors 'none'; base-uri 'none'",
  'X-Frame-Options': 'DENY',
  'X-Content-Type-Options': 'nosniff',
  'Referrer-Policy': 'no-referrer',
  'Cross-Origin-Resource-Policy': 'same-origin',
} as const

/** What comes in is checked by our own shapes; loading Fastify's compilers would make every start 0.1 s longer. */
function noSchemas(): never {
  throw new TypeError('a route has a schema, and this server compiles none')
}

/** Begins to listen. Throws SERVER_PORT_TAKEN. */
export async function openHttp(options: HttpOptions): Promise<Http> {
  const { host, files, token, live, log } = options
  const app = Fastify({
    forceCloseConnections: true,
    requestTimeout: 10_000,
    keepAliveTimeout: 5_000,
    handlerTimeout: 30_000,
    bodyLimit: 1024, // nothing is sent to us this way
    trustProxy: false,
    schemaController: { compilersFactory: { buildValidator: noSchemas, buildSerializer: noSchemas } },
  })
  app.server.maxConnections = MAX_CONNECTIONS
  let hosts: readonly string[] = [] // known when the port is

  app.addHook('onRequest', async (request, reply) => {
    reply.headers(HEADERS)
    const refusal = hostRefusal(request.headers.host, hosts)
    if (refusal !== null) return inWords(reply, 421, turnAway(request.raw, refusal, log))
    if (request.method !== 'GET' && request.method !== 'HEAD')
      return inWords(reply.header('Allow', 'GET, HEAD'), 405, 'Pages are read here, nothing else.')
  })
  app.get('/health', async () => ({ ok: true }))
  app.get('/*', async (request, reply) => {
    const file = files.get(pathOf(request.url))
    if (file) return reply.type(file.type).send(file.bytes)
    return inWords(reply, 404, 'There is no such page here.')
  })

  app.server.on('upgrade', (request: IncomingMessage, socket: Duplex, head: Buffer) => {
    const { host, origin, 'sec-websocket-protocol': protocols } = request.headers
    const refusal = upgradeRefusal({ host, origin, protocols, path: request.url }, { hosts, token })
    if (refusal !== null) return refuseUpgrade(socket, '403 Forbidden', turnAway(request, refusal, log))
    if (!live.hasRoom()) {
      const full = new BenchError('SERVER_FULL', callerOf(request), `${live.clients()} pages are connected`)
      log.warn({ code: full.code }, full.message)
      return refuseUpgrade(socket, '503 Service Unavailable', full.message)
    }
    live.accept(request, socket, head)
  })
  // Without this an open live socket would keep close() waiting for ever.
  app.addHook('preClose', async () => live.close())

  try {
    await app.listen({ host, port: options.port })
  } catch (cause) {
    await app.close()
    throw new BenchError('SERVER_PORT_TAKEN', `page address ${host}:${options.port}`, listenWords(cause), cause)
  }
  const port = portOf(app.server.address())
  hosts = allowedHosts(port, options.names)

  return {
    port,
    close: async () => {
      try {
        await app.close()
      } catch (error) {
        log.error({}, `page server: ${wordsOf(error)}`)
      }
    },
  }
}

function inWords(reply: FastifyReply, status: number, words: string): FastifyReply {
  return reply.code(status).type('text/plain; charset=utf-8').send(`${words}\n`)
}

/** Logs who is turned away; returns the words for it. */
function turnAway(request: IncomingMessage, refusal: string, log: Log): string {
  const error = new BenchError('SERVER_FOREIGN', callerOf(request), refusal)
  log.warn({ code: error.code }, error.message)
  return error.message
}

function callerOf(request: IncomingMessage): string {
  return `caller from ${request.socket.remoteAddress}:${request.socket.remotePort}`
}

/** By hand: after an upgrade request there is no HTTP reply object any more. */
function refuseUpgrade(socket: Duplex, status: string, words: string): void {
  socket.on('error', () => {}) // it is being thrown out; how it goes does not matter
  const body = Buffer.from(`${words}\n`)
  const head = [
    `HTTP/1.1 ${status}`,
    'Connection: close',
    'Content-Type: text/plain; charset=utf-8',
    `Content-Length: ${body.length}`,
  ]
  socket.end(Buffer.concat([Buffer.from(`${head.join('\r\n')}\r\n\r\n`), body]), () => socket.destroy())
}

function pathOf(url: string): string {
  return url.split('?', 1)[0] ?? ''
}

function listenWords(cause: unknown): string {
  const code = cause instanceof Error && 'code' in cause ? cause.code : ''
  if (code === 'EADDRINUSE') return 'another program answers there already'
  if (code === 'EACCES') return 'this user may not open that port'
  return wordsOf(cause)
}

function portOf(address: AddressInfo | string | null): number {
  if (address === null || typeof address === 'string') throw new TypeError('a TCP server has an address and port')
  return address.port
}
