import { spawn } from 'node:child_process'
import { once } from 'node:events'
import type { IncomingMessage } from 'node:http'
import { afterEach, expect, test } from 'vitest'
import { type WebSocket, WebSocketServer } from 'ws'
import { runHandClient } from '../../mocks/hand/hand-client.ts'
import { type Pace, realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { notedSet } from './hand-kit.ts'

const closers: (() => void)[] = []
afterEach(() => {
  for (const close of closers.splice(0).toReversed()) close()
})

interface Service {
  readonly url: string
  /** The next client, with what it said on its way in. */
  client(): Promise<{
    readonly socket: WebSocket
    readonly request: IncomingMessage
    next(kind: string): Promise<Record<string, unknown>>
  }>
}

async function openService(): Promise<Service> {
  const server = new WebSocketServer({ host: '127.0.0.1', port: 0, path: '/live' })
  await once(server, 'listening')
  closers.push(() => {
    for (const socket of server.clients) socket.terminate()
    server.close()
  })
  const at = server.address()
  const port = typeof at === 'object' && at !== null ? at.port : 0
  return {
    url: `ws://127.0.0.1:${port}/live`,
    client: () =>
      new Promise((resolve) => {
        server.once('connection', (socket, request) => {
          const heard: Record<string, unknown>[] = []
          const takers: (() => void)[] = []
          socket.on('message', (data) => {
            heard.push(JSON.parse(data.toString()))
            for (const taker of takers.splice(0)) taker()
          })
          const next = async (kind: string): Promise<Record<string, unknown>> => {
            for (;;) {
              const at = heard.findIndex((message) => message.kind === kind)
              const found = heard[at]
              if (found) {
                heard.splice(at, 1)
                return found
              }
              await new Promise<void>((wake) => takers.push(wake))
            }
          }
          resolve({ socket, request, next })
        })
      }),
  }
}

/** A frame as a service would send it. */
function frameText(state: 'read step' | 'key now'): string {
  return JSON.stringify({ ...FRAME, state, atMs: 0 })
}
const FRAME = {
  kind: 'frame',
  format: 1,
  seq: 1,
  mode: 'job',
  reading: null,
  slot: null,
  peg: null,
  peak: null,
  guide: { words: '', way: '', hands: '' },
  because: '',
  step: { id: 'a', where: [], channelWanted: 20, mode: 'FM', tone: '', adjuster: '', before: '', technique: 'check' },
  steps: [],
  offers: ['ready'],
}

const FAST: Pace = { times: 20, originMs: performance.timeOrigin + performance.now() }

test('the hand joins as a page of this start, says it is here, asks to steer, reads a step and asks for "ready"', async () => {
  const service = await openService()
  const stop = new AbortController()
  closers.push(() => stop.abort(new Error('over')))
  const coming = service.client()
  const clock = realClock(FAST)
  const set = notedSet(clock)
  runHandClient({
    set,
    clock,
    rng: seededRng(1),
    log: silentLog,
    url: service.url,
    token: 'T0KEN',
    signal: stop.signal,
  }).catch(() => {})
  const page = await coming
  expect(page.request.headers.origin).toBe(new URL(service.url.replace('ws:', 'http:')).origin)
  expect(page.request.headers['sec-websocket-protocol']).toBe('trimwright.T0KEN')
  expect(await page.next('here')).toEqual({ kind: 'here', visible: true })
  expect(await page.next('here')).toEqual({ kind: 'here', visible: true })
  page.socket.send(JSON.stringify({ kind: 'role', steering: 'another', asked: false }))
  expect(await page.next('steer')).toMatchObject({ kind: 'steer' })
  page.socket.send(frameText('read step'))
  expect(await page.next('ready')).toEqual({ kind: 'ready', id: 'hand-1' })
  expect(set.done.map(({ what }) => what)).toContain('channel 20')
})

test('when the socket goes the key comes up at once, and the hand comes back when the service does', async () => {
  const service = await openService()
  const stop = new AbortController()
  closers.push(() => stop.abort(new Error('over')))
  const coming = service.client()
  const clock = realClock(FAST)
  const set = notedSet(clock)
  runHandClient({
    set,
    clock,
    rng: seededRng(1),
    log: silentLog,
    url: service.url,
    token: 'T',
    signal: stop.signal,
  }).catch(() => {})
  const page = await coming
  page.socket.send(frameText('key now'))
  for (let wait = 0; wait < 100 && !set.now.key; wait += 1) await new Promise((resolve) => setTimeout(resolve, 10))
  expect(set.now.key).toBe(true)
  const again = service.client()
  page.socket.terminate()
  const second = await again
  expect(set.now.key).toBe(false)
  expect(await second.next('here')).toEqual({ kind: 'here', visible: true })
})

test('the simulated bench as a process lets its hand follow a service named on standard input', async () => {
  const service = await openService()
  const child = spawn(process.execPath, ['--import', 'tsx', 'mocks/main.ts', '--pace', '20'], {
    stdio: ['pipe', 'pipe', 'inherit'],
  })
  closers.push(() => child.kill('SIGKILL'))
  const coming = service.client()
  child.stdin.write(`hand ${service.url} ABC\n`)
  const page = await coming
  expect(page.request.headers['sec-websocket-protocol']).toBe('trimwright.ABC')
  page.socket.send(frameText('read step'))
  expect(await page.next('ready')).toMatchObject({ kind: 'ready' })
  child.stdin.end()
  expect(await once(child, 'exit')).toEqual([0, null])
})
