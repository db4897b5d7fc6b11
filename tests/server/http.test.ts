import { afterEach, beforeEach, expect, test } from 'vitest'
import { openServer, type Server } from '../../src/server/open-server.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { fakeSource } from '../kit/links/fake-source.ts'
import { rawRequest, silentConnection } from '../kit/links/raw-request.ts'
import { pageFolder } from '../kit/program/page-folder.ts'

const clock = realClock()
const warnings: string[] = []
const log = { ...silentLog, warn: (_: object, words: string) => void warnings.push(words) }
const source = fakeSource(clock)
let server: Server
let port: number

beforeEach(async () => {
  warnings.length = 0
  server = await openServer({ source, port: 0, webRoot: await pageFolder(), clock, log, names: ['bench-pc'] })
  port = Number(new URL(server.url).port)
})
afterEach(() => server.close())

const get = (path: string, ...lines: string[]) =>
  rawRequest(port, [`GET ${path} HTTP/1.1`, 'Connection: close', ...lines])
const ours = () => `Host: 127.0.0.1:${port}`

test('serves index.html with the token of this start and headers that keep it to itself', async () => {
  const reply = await fetch(server.url)
  expect(reply.status).toBe(200)
  expect(await reply.text()).toBe(`<!doctype html><meta name="token" content="${server.token}">`)
  expect(Object.fromEntries(reply.headers)).toMatchObject({
    'content-type': 'text/html; charset=utf-8',
    'cache-control': 'no-store',
    'content-security-policy':
      "default-src 'self'; connect-src 'self'; img-src 'self' data:; style-src 'self'; script-src 'self'; frame-ancestors 'none'; base-uri 'none'",
    'x-frame-options': 'DENY',
    'x-content-type-options': 'nosniff',
    'referrer-policy': 'no-referrer',
    'cross-origin-resource-policy': 'same-origin',
  })
  expect(reply.headers.get('access-control-allow-origin')).toBeNull()
})

test('makes a token of 192 random bits, another one at each start', async () => {
  const another = await openServer({ source, port: 0, webRoot: await pageFolder(), clock, log })
  await another.close()
  expect(server.token).toMatch(/^[\w-]{32}$/)
  expect(another.token).not.toBe(server.token)
})

test.each([
  ['/assets/gauge.js', 'text/javascript; charset=utf-8', 'export const gauge = 1\n'],
  ['/assets/gauge.js?v=2', 'text/javascript; charset=utf-8', 'export const gauge = 1\n'],
  ['/assets/gauge.css', 'text/css; charset=utf-8', 'body { margin: 0 }\n'],
  ['/health', 'application/json; charset=utf-8', '{"ok":true}'],
])('serves %s', async (path, type, body) => {
  const reply = await get(path, ours())
  expect(reply).toMatchObject({ status: 200, body })
  expect(reply.headers['content-type']).toBe(type)
  expect(reply.headers['x-content-type-options']).toBe('nosniff')
})

test.each(['/no-such-file', '/../../etc/passwd', '/assets/..%2f..%2fpackage.json', '/assets/', '//evil.example/'])(
  'knows no page %s',
  async (path) => {
    expect(await get(path, ours())).toMatchObject({ status: 404, body: 'There is no such page here.\n' })
  },
)

test.each(['POST', 'PUT', 'DELETE', 'OPTIONS'])('refuses %s: nothing is changed this way', async (method) => {
  const reply = await rawRequest(port, [`${method} / HTTP/1.1`, 'Connection: close', ours()])
  expect(reply).toMatchObject({ status: 405, body: 'Pages are read here, nothing else.\n' })
})

test('answers HEAD without a body', async () => {
  const reply = await rawRequest(port, ['HEAD / HTTP/1.1', 'Connection: close', ours()])
  expect(reply).toMatchObject({ status: 200, body: '' })
})

test.each(['127.0.0.1', 'localhost', '[::1]', 'bench-pc'])('serves the page under the name %s', async (name) => {
  expect((await get('/', `Host: ${name}:${port}`)).status).toBe(200)
})

test.each(['/', '/index.html', '/assets/gauge.js', '/health', '/no-such-file'])(
  'turns away whoever asks for %s under an outside name that points here, in words and in the log',
  async (path) => {
    const reply = await get(path, `Host: evil.example:${port}`)
    const names = `127.0.0.1:${port}, localhost:${port}, [::1]:${port}, bench-pc:${port}`
    expect(reply.status).toBe(421)
    expect(reply.body).toMatch(/^caller from 127\.0\.0\.1:\d+: the host name evil\.example:/)
    expect(reply.body).toContain(
      `the host name evil.example:${port} was asked for; only ${names} are answered. Open the page from the address that Trimwright printed [SERVER_FOREIGN]`,
    )
    expect(reply.body).not.toContain(server.token)
    expect(warnings).toHaveLength(1)
  },
)

const upgrade = (changes: { host?: string; origin?: string | null; path?: string; protocol?: string | null }) => {
  const host = changes.host ?? `127.0.0.1:${port}`
  const origin = changes.origin === undefined ? `http://127.0.0.1:${port}` : changes.origin
  const protocol = changes.protocol === undefined ? `trimwright.${server.token}` : changes.protocol
  return rawRequest(port, [
    `GET ${changes.path ?? '/live'} HTTP/1.1`,
    `Host: ${host}`,
    'Connection: Upgrade',
    'Upgrade: websocket',
    'Sec-WebSocket-Version: 13',
    'Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==',
    ...(origin === null ? [] : [`Origin: ${origin}`]),
    ...(protocol === null ? [] : [`Sec-WebSocket-Protocol: ${protocol}`]),
  ])
}

test.each([
  [
    'from a foreign page',
    { origin: 'https://evil.example' },
    'it comes from the page https://evil.example, not from ours',
  ],
  ['from a page without origin', { origin: 'null' }, 'it comes from the page null, not from ours'],
  ['without an origin', { origin: null }, 'it does not say which page it comes from'],
  ['under a foreign host name', { host: 'evil.example' }, 'the host name evil.example was asked for'],
  [
    'from a rebound page, host and origin both foreign',
    { host: 'evil.example', origin: 'http://evil.example' },
    'the host name evil.example was asked for',
  ],
  ['with a wrong token', { protocol: 'trimwright.wrong' }, 'it does not have the token of this start'],
  ['without a token', { protocol: null }, 'it does not have the token of this start'],
  ['at another path', { path: '/' }, 'there is no live socket at /, only at /live'],
])('refuses a live socket %s with a plain 403, in words and in the log', async (_, changes, words) => {
  const reply = await upgrade(changes)
  expect(reply.status).toBe(403)
  expect(reply.headers).not.toHaveProperty('sec-websocket-accept')
  expect(reply.body).toContain(words)
  expect(reply.body).toMatch(/\[SERVER_FOREIGN\]\n$/)
  expect(warnings.map((warning) => `${warning}\n`)).toEqual([reply.body])
  expect(server.clients()).toBe(0)
})

test('says in words that the port is taken, and leaves nothing behind', async () => {
  const before = source.listeners()
  const second = openServer({ source, port, webRoot: await pageFolder(), clock, log })
  await expect(second).rejects.toThrow(
    `page address 127.0.0.1:${port}: another program answers there already. Another Trimwright may be running: stop it, or use --port [SERVER_PORT_TAKEN]`,
  )
  expect(source.listeners()).toBe(before)
})

test('closes although a connection is open on which nothing was ever asked, and closes twice', async () => {
  const silent = await silentConnection(port)
  const cut = new Promise((resolve) => silent.once('close', resolve))
  silent.on('error', () => {})
  await server.close()
  await server.close()
  await cut
  await expect(fetch(server.url)).rejects.toThrow('fetch failed')
})
