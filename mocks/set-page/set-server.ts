import { readFile } from 'node:fs/promises'
import type { IncomingMessage } from 'node:http'
import type { Duplex } from 'node:stream'
import fastify from 'fastify'
import { type WebSocket, WebSocketServer } from 'ws'
import { type Clock, sleep } from '../../src/system/clock.ts'
import type { Log } from '../../src/system/log.ts'
import type { Displays } from '../instruments/displays.ts'
import type { SetView, SimulatedSet } from '../plant/simulated-set.ts'
import type { BenchFaults } from '../unit/faults.ts'
import { obeySetMessage } from './set-message.ts'

export interface SetPageSetting {
  readonly set: SimulatedSet
  /** Meters without a socket: nobody but a person can read them. */
  readonly displays: Displays
  readonly faults: BenchFaults
  readonly clock: Clock
  readonly log: Log
}

/** What goes to the page: the set as its hands see it, or why a message was refused. */
export type ToSetPage =
  | {
      readonly kind: 'view'
      readonly simulated: true
      readonly view: SetView
      readonly displays: ReturnType<Displays>
    }
  | { readonly kind: 'refused'; readonly words: string }

/** The set's own page, running. */
export interface SetPage {
  /** http://127.0.0.1:PORT/set */
  readonly url: string
  /** Idempotent; never rejects. */
  close(): Promise<void>
}

const FILES = [
  { path: '/set', file: 'page.html', type: 'text/html; charset=utf-8' },
  { path: '/set/page.js', file: 'page.js', type: 'text/javascript; charset=utf-8' },
  { path: '/set/menu.js', file: 'menu.js', type: 'text/javascript; charset=utf-8' },
  { path: '/set/page.css', file: 'page.css', type: 'text/css; charset=utf-8' },
] as const

/**
 * Serves the simulated set's page on a free port of 127.0.0.1, with its socket at /set/live. Another host name or another
 * page's origin gets 403. A page that goes away takes its hands along: the key it pressed comes up, the whistling ends.
 */
export async function serveSetPage(setting: SetPageSetting): Promise<SetPage> {
  const { log } = setting
  const app = fastify({
    logger: false,
    forceCloseConnections: true,
    schemaController: { compilersFactory: { buildValidator: noSchemas, buildSerializer: noSchemas } },
  })
  const allowed = new Set<string>()
  const ours = (request: IncomingMessage, originRequired: boolean): boolean => {
    const { host, origin } = request.headers
    if (host === undefined || !allowed.has(host)) return false
    return origin === undefined ? !originRequired : origin === `http://${host}`
  }

  app.addHook('onRequest', async (request, reply) => {
    if (!ours(request.raw, false))
      return reply.code(403).type('text/plain').send('Open the page from the address that was printed.')
    reply.headers({
      'content-security-policy': "default-src 'self'; frame-ancestors 'none'",
      'x-content-type-options': 'nosniff',
      'cache-control': 'no-store',
    })
  })
  for (const { path, file, type } of FILES) {
    const body = await readFile(new URL(file, import.meta.url))
    app.get(path, async (_request, reply) => reply.type(type).send(body))
  }
  app.get('/favicon.ico', async (_request, reply) => reply.code(204).send())
  app.get('/', async (_request, reply) => reply.redirect('/set'))

  const sockets = new WebSocketServer({ noServer: true, maxPayload: LONGEST_MESSAGE })
  app.server.on('upgrade', (request: IncomingMessage, socket: Duplex, head: Buffer) => {
    const known = request.url === '/set/live' && ours(request, true)
    if (known) sockets.handleUpgrade(request, socket, head, (client) => attend(client, setting))
    else socket.end('HTTP/1.1 403 Forbidden\r\nConnection: close\r\nContent-Length: 0\r\n\r\n')
  })
  await app.listen({ port: 0, host: '127.0.0.1' })
  const at = app.server.address()
  const port = typeof at === 'object' && at !== null ? at.port : 0
  allowed.add(`127.0.0.1:${port}`).add(`localhost:${port}`)

  const stop = new AbortController()
  showChanges(sockets, setting, stop.signal).catch((reason: unknown) => {
    if (!stop.signal.aborted) log.error({ reason }, 'the set page is no longer brought up to date')
  })
  return {
    url: `http://127.0.0.1:${port}/set`,
    close: async () => {
      stop.abort(new Error('set page closed'))
      for (const client of sockets.clients) client.terminate()
      await app.close()
    },
  }
}

/** One page: obeys its messages, shows it the set at once, lifts its hands when it goes. */
function attend(client: WebSocket, setting: SetPageSetting): void {
  const { set, faults } = setting
  const say = (message: ToSetPage) => client.send(JSON.stringify(message))
  let touched = false
  say(viewOf(setting))
  client.on('message', (data, binary) => {
    const text = binary ? '' : data.toString()
    const wrong = obeySetMessage(text, set, faults)
    touched ||= wrong === null && /"kind":"(?:key|hand|turn|whistle)"/.test(text)
    say(wrong === null ? viewOf(setting) : { kind: 'refused', words: wrong })
  })
  // An ill-mannered page is dropped by ws itself; 'close' follows.
  client.on('error', () => {})
  client.on('close', () => {
    if (!touched) return
    set.key(false)
    set.whistle(false)
    set.hand(null)
  })
}

/** Shows every page what others changed: another page, the supply, the simulated hand. */
async function showChanges(sockets: WebSocketServer, setting: SetPageSetting, signal: AbortSignal): Promise<void> {
  let shown = ''
  for (;;) {
    await sleep(setting.clock, SHOW_EVERY_MS, signal)
    if (sockets.clients.size === 0) continue
    const message = JSON.stringify(viewOf(setting))
    if (message === shown) continue
    shown = message
    for (const client of sockets.clients) if (client.bufferedAmount < MOST_BUFFERED) client.send(message)
  }
}

function viewOf({ set, displays }: SetPageSetting): ToSetPage {
  return { kind: 'view', simulated: true, view: set.view(), displays: displays() }
}

const LONGEST_MESSAGE = 4096
const SHOW_EVERY_MS = 100
const MOST_BUFFERED = 65536

/** No route has a schema; without the compilers the set's page starts 0.1 s sooner. */
function noSchemas(): never {
  throw new TypeError('a route has a schema, and this server compiles none')
}
