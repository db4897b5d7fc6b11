import { readFile } from 'node:fs/promises'
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http'
import { extname, join, normalize } from 'node:path'
import { type Browser, chromium } from 'playwright-core'
import { build } from 'vite'
import { type WebSocket, WebSocketServer } from 'ws'
import type { Answer, FromPage, LiveFrame, ToPage } from '../../src/schema/messages/shown.ts'
import { FromPage as FromPageShape } from '../../src/schema/messages/shown.ts'

const ROOT = new URL('../../', import.meta.url).pathname
export const TOKEN = 'token-of-this-test'

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
}

/** The only policy that the service sets: nothing inline, nothing from elsewhere. */
const POLICY = "default-src 'self'"

/** A stand-in for the service: the built page under its strict policy, and a `/live` that says what a test wants. */
export interface FakeService {
  readonly url: string
  /** What pages have asked for, `here` left out, each checked against the schema. */
  readonly asked: FromPage[]
  readonly heres: { visible: boolean }[]
  readonly protocols: string[]
  /** Takes the place of "done" for the next requests. */
  answerWith(answer: (message: FromPage) => Answer): void
  send(message: ToPage): void
  /** A frame whose times are moved to this service's clock. */
  show(frame: LiveFrame, seq: number): void
  /** Every connection breaks and none is taken until `back`. */
  drop(): void
  back(): void
  close(): Promise<void>
}

export const WELCOME: Extract<ToPage, { kind: 'welcome' }> = {
  kind: 'welcome',
  format: 1,
  bench: { name: 'Workshop 2', simulated: true },
  measures: [
    { quantity: 'RF power', instrument: 'power', example: '3.6 .. 3.9 W' },
    { quantity: 'frequency', instrument: 'counter', example: '27.205 MHz +- 150 Hz' },
    { quantity: 'FM deviation', instrument: 'modmeter', example: '1.60 .. 1.95 kHz' },
    { quantity: 'DC voltage', instrument: 'volts', example: '2.20 .. 2.60 V' },
    { quantity: 'DC current', instrument: 'supply', example: '0.25 .. 0.40 A' },
  ],
  procedures: [
    {
      file: 'brackwater-27m-transmit-short.yaml',
      title: 'Brackwater 27-M, transmit side',
      bands: [
        { id: 'cept', words: 'channels 1 to 40', use: 'yes' },
        { id: 'de-low', words: 'channels 41 to 80', use: 'ask' },
      ],
      supplyCautions: [],
      watchCautions: ['Load and attenuator on the aerial socket.'],
    },
    {
      file: 'saltmere-v5.yaml',
      title: 'Saltmere V-5',
      bands: [{ id: 'marine', words: 'marine channels', use: 'yes' }],
      supplyCautions: ['The supply has no over-voltage trip: it is not taken above 13.80 V.'],
      watchCautions: [],
    },
  ],
  ruleCards: [
    { file: 'training-fm.yaml', title: 'Training bench, FM only', allows: 'FM' },
    { file: 'training-fm-am.yaml', title: 'Training bench, FM and AM', allows: 'FM and AM' },
  ],
  wrongFiles: [],
  openJobs: [
    {
      job: '2026-11-24-BW-0411',
      serial: 'BW-0411',
      procedure: 'Brackwater 27-M, transmit side',
      startedAt: '2026-11-24T09:15:00.000Z',
      captured: 7,
    },
  ],
  closedJobs: [
    {
      job: '20261120-081500-BW0411-a1b2',
      serial: 'BW-0411',
      procedure: 'Brackwater 27-M, transmit side',
      closedAt: '2026-11-20T09:40:00.000Z',
    },
  ],
  setPage: 'http://127.0.0.1:4173/set',
  places: [
    { what: 'DC current', needed: true, instrument: 'supply', link: 'up', isolated: 'yes', lossDb: 0 },
    { what: 'RF power', needed: true, instrument: 'power', link: 'up', isolated: 'yes', lossDb: 30.2 },
    { what: 'DC voltage', needed: true, instrument: 'volts', link: 'up', isolated: 'yes', lossDb: 0 },
    { what: 'frequency', needed: true, instrument: 'counter', link: 'up', isolated: 'yes', lossDb: 0 },
    { what: 'FM deviation', needed: true, instrument: 'modmeter', link: 'up', isolated: 'yes', lossDb: 0 },
    { what: 'tone', needed: true, instrument: 'oscillator', link: 'up', isolated: 'yes', lossDb: 0 },
  ],
}

export async function openService(dist: string): Promise<FakeService> {
  const asked: FromPage[] = []
  const heres: { visible: boolean }[] = []
  const protocols: string[] = []
  const pages = new Set<WebSocket>()
  let away = false
  let answer: Parameters<FakeService['answerWith']>[0] = () => ({ ok: true, words: '' })
  const server = createServer((request, response) => void serve(dist, request, response))
  const live = new WebSocketServer({
    server,
    path: '/live',
    handleProtocols: (offered) => [...offered][0] ?? false,
    verifyClient: () => !away,
  })
  const send = (message: ToPage) => {
    for (const page of pages) page.send(JSON.stringify(message))
  }
  live.on('connection', (socket) => {
    pages.add(socket)
    protocols.push(socket.protocol)
    socket.on('close', () => pages.delete(socket))
    socket.on('message', (data) => {
      const message = FromPageShape.parse(JSON.parse(String(data)))
      if (message.kind === 'here') heres.push({ visible: message.visible })
      else {
        asked.push(message)
        socket.send(JSON.stringify({ kind: 'answer', id: message.id, ...answer(message) } satisfies ToPage))
      }
    })
    for (const message of [WELCOME, { kind: 'role', steering: 'you', asked: false } satisfies ToPage])
      socket.send(JSON.stringify(message))
  })
  const port = await new Promise<number>((resolve, reject) => {
    server.once('error', reject)
    server.listen(0, '127.0.0.1', () => {
      const address = server.address()
      resolve(typeof address === 'object' && address !== null ? address.port : 0)
    })
  })
  return {
    url: `http://127.0.0.1:${port}/`,
    asked,
    heres,
    protocols,
    answerWith(next) {
      answer = next
    },
    send,
    show(frame, seq) {
      const now = performance.now()
      const reading = frame.reading && { ...frame.reading, arrivedMs: now - frame.reading.ageMs }
      const { takeBackUntilMs } = frame
      const until = takeBackUntilMs === undefined ? {} : { takeBackUntilMs: now + takeBackUntilMs - frame.atMs }
      send({ ...frame, ...until, seq, atMs: now, reading })
    },
    drop() {
      away = true
      for (const page of pages) page.terminate()
    },
    back() {
      away = false
    },
    close: () =>
      new Promise((resolve) => {
        for (const page of pages) page.terminate()
        live.close()
        server.close(() => resolve())
      }),
  }
}

async function serve(dist: string, request: IncomingMessage, response: ServerResponse): Promise<void> {
  const path = normalize(new URL(request.url ?? '/', 'http://page').pathname)
  const file = join(dist, path === '/' ? 'index.html' : path)
  try {
    const bytes = await readFile(file)
    const body = path === '/' ? bytes.toString('utf8').replace('%TOKEN%', TOKEN) : bytes
    response.writeHead(200, {
      'content-type': TYPES[extname(file)] ?? 'application/octet-stream',
      'content-security-policy': POLICY,
    })
    response.end(body)
  } catch {
    // Whatever the page asks for beside its own files is not there, as with the service.
    response.writeHead(404).end()
  }
}

/** Builds the page as the service gets it, into a folder of the caller's. */
export async function buildPage(dist: string): Promise<void> {
  await build({
    configFile: join(ROOT, 'vite.config.ts'),
    root: join(ROOT, 'web'),
    logLevel: 'error',
    build: { outDir: dist, emptyOutDir: true },
  })
}

export function openBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: '/usr/bin/chromium',
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  })
}
