import { request } from 'node:http'
import { afterEach, expect, test } from 'vitest'
import { WebSocket } from 'ws'
import { ARRIVES } from '../../mocks/plant/adjusters.ts'
import { obeySetMessage } from '../../mocks/set-page/set-message.ts'
import type { ToSetPage } from '../../mocks/set-page/set-server.ts'
import { type BenchKind, openSimulatedBench, type SimulatedBench } from '../../mocks/simulated-bench.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { memoryBench } from './kit.ts'

const opened: { close(): Promise<void> }[] = []
afterEach(async () => {
  for (const one of opened.splice(0)) await one.close()
})

async function withPage(kind: BenchKind = 'separate'): Promise<{ bench: SimulatedBench; port: number }> {
  const signal = new AbortController().signal
  const bench = await openSimulatedBench({
    clock: realClock(),
    rng: seededRng(1),
    log: silentLog,
    links: 'memory',
    signal,
    seed: null,
    setPage: true,
    kind,
  })
  opened.push(bench)
  return { bench, port: Number(new URL(bench.setPageUrl ?? '').port) }
}

function get(
  port: number,
  path: string,
  headers: Record<string, string> = {},
): Promise<{ status: number; body: string }> {
  return new Promise((resolve, reject) => {
    request({ host: '127.0.0.1', port, path, headers }, (response) => {
      let body = ''
      response.on('data', (piece: Buffer) => {
        body += piece.toString()
      })
      response.on('end', () => resolve({ status: response.statusCode ?? 0, body }))
    })
      .on('error', reject)
      .end()
  })
}

interface Page {
  readonly socket: WebSocket
  /** The next message that fits; views are also sent by the clock, so that others may come first. */
  next(fits?: (message: ToSetPage) => boolean): Promise<ToSetPage>
}

function openPage(port: number, origin = `http://127.0.0.1:${port}`): Promise<Page> {
  return new Promise((resolve, reject) => {
    const socket = new WebSocket(`ws://127.0.0.1:${port}/set/live`, { origin })
    const arrived: ToSetPage[] = []
    let wake = () => {}
    socket.on('message', (data) => {
      arrived.push(JSON.parse(data.toString()))
      wake()
    })
    const next: Page['next'] = async (fits = () => true) => {
      for (;;) {
        for (let message = arrived.shift(); message; message = arrived.shift()) if (fits(message)) return message
        await new Promise<void>((resolve) => {
          wake = resolve
        })
      }
    }
    socket.on('open', () => resolve({ socket, next }))
    socket.on('error', reject)
    opened.push({ close: async () => socket.terminate() })
  })
}

test('the page, its script and its style are there, marked SIMULATED, and show no meter', async () => {
  const { port } = await withPage()
  const page = await get(port, '/set')
  expect(page.status).toBe(200)
  expect(page.body).toContain('<strong>SIMULATED</strong>')
  expect(page.body).not.toMatch(/watt|kHz|MHz|volts?\b.*\d/i)
  expect((await get(port, '/set/page.js')).status).toBe(200)
  expect((await get(port, '/set/menu.js')).body).toContain('time-out timer')
  expect((await get(port, '/set/page.css')).status).toBe(200)
  expect((await get(port, '/set/../main.ts')).status).toBe(404)
})

test.each([
  ['another host name', { host: 'bench.example:80' }],
  ['another origin', { origin: 'http://elsewhere.example' }],
])('%s is refused with 403', async (_what, headers) => {
  const { port } = await withPage()
  expect((await get(port, '/set', headers)).status).toBe(403)
})

test('the socket refuses another origin with 403 and takes its own', async () => {
  const { port } = await withPage()
  await expect(openPage(port, 'http://elsewhere.example')).rejects.toThrow('403')
  const page = await openPage(port)
  expect(await page.next()).toMatchObject({ kind: 'view', simulated: true, view: { positions: ARRIVES, display: '' } })
})

test('what a page does is done and shown; what is wrong is answered in words', async () => {
  const { bench, port } = await withPage()
  const page = await openPage(port)
  await page.next()
  page.socket.send('{"kind":"turn","adjuster":"PW","by":0.1}')
  await page.next((message) => message.kind === 'view' && Math.abs(message.view.positions.PW - ARRIVES.PW - 0.1) < 1e-9)
  page.socket.send('{"kind":"turn","adjuster":"XX","by":"far","extra":1}')
  expect(await page.next((message) => message.kind === 'refused')).toEqual({
    kind: 'refused',
    words: 'adjuster: wants an adjuster; by: wants a number of turns, at most 2; extra: not known here',
  })
  expect(bench.set.view().positions.PW).toBeCloseTo(ARRIVES.PW + 0.1, 9)
})

test('every page sees what another did within a second', async () => {
  const { bench, port } = await withPage()
  const page = await openPage(port)
  await page.next()
  bench.set.prod('T1')
  const seen = await page.next((message) => message.kind === 'view' && message.view.prod === 'T1')
  expect(seen).toMatchObject({ simulated: true, view: { display: '' } })
})

test('a page that goes away takes its hands along: key up, tool out, no more whistling', async () => {
  const { bench, port } = await withPage()
  const page = await openPage(port)
  await page.next()
  page.socket.send('{"kind":"whistle","on":true}')
  page.socket.send('{"kind":"key","down":true}')
  page.socket.send('{"kind":"hand","adjuster":"OK"}')
  await page.next((message) => message.kind === 'view' && message.view.hand === 'OK')
  expect(bench.set.view()).toMatchObject({ key: true, hand: 'OK', whistling: true })
  page.socket.terminate()
  for (let wait = 0; wait < 100 && bench.set.view().key; wait += 1)
    await new Promise((resolve) => setTimeout(resolve, 10))
  expect(bench.set.view()).toMatchObject({ key: false, hand: null, whistling: false })
})

test.each([
  ['{"kind":"mode","mode":"AM"}', { mode: 'AM' }],
  ['{"kind":"prod","place":"plug"}', { prod: 'plug' }],
  ['{"kind":"common","place":"case"}', { common: 'case' }],
  ['{"kind":"microphone","what":"own"}', { microphone: 'own' }],
  ['{"kind":"whistle","on":true}', { whistling: true }],
  ['{"kind":"load","on":false}', { load: false }],
  ['{"kind":"cover","on":true}', { cover: true }],
  ['{"kind":"channel","channel":7}', { channel: 7 }],
  ['{"kind":"band","band":"de-low"}', { band: 'de-low', channel: 41 }],
  ['{"kind":"setting","name":"time-out timer","value":"15 s"}', { settings: { 'time-out timer': '15 s' } }],
  ['{"kind":"setting","name":"band","value":"uk"}', { band: 'uk', settings: { band: 'uk' } }],
  ['{"kind":"hand","adjuster":null}', { hand: null }],
  ['{"kind":"hand","adjuster":"RT"}', { hand: 'RT' }],
])('message %s is obeyed', async (text, seen) => {
  const { bench } = await memoryBench()
  expect(obeySetMessage(text, bench.set, bench.faults)).toBeNull()
  expect(bench.set.view()).toMatchObject(seen)
})

test('faults of instruments and radio are switched through the socket, with their times', async () => {
  const { bench } = await memoryBench()
  const obey = (text: string) => obeySetMessage(text, bench.set, bench.faults)
  expect(
    obey('{"kind":"fault","instrument":"power","fault":"late","when":{"kind":"next","times":2},"ms":700}'),
  ).toBeNull()
  expect(bench.faults.list()).toEqual([
    { instrument: 'power', fault: 'late', when: { kind: 'next', times: 2 }, ms: 700, code: -200 },
  ])
  expect(obey('{"kind":"fault off","instrument":"power"}')).toBeNull()
  expect(bench.faults.list()).toEqual([])
  expect(obey('{"kind":"radio fault","fault":"aged crystal","on":true}')).toBeNull()
  expect(bench.faults.radioList()).toEqual(['aged crystal'])
})

test.each([
  ['no json', 'not a JSON object'],
  ['[1]', 'not a JSON object'],
  [
    '{}',
    'kind: wants turn, hand, key, channel, mode, prod, common, microphone, whistle, load, cover, band, setting, fault, fault off, radio fault',
  ],
  ['{"kind":"key","down":1}', 'down: wants true or false'],
  ['{"kind":"key","down":true,"for":3}', 'for: not known here'],
  ['{"kind":"turn","adjuster":"PW","by":1e9}', 'by: wants a number of turns, at most 2'],
  ['{"kind":"prod","place":"case"}', 'place: wants plug, T1, off'],
  ['{"kind":"channel","channel":1.5}', 'channel: wants a channel number'],
  ['{"kind":"band","band":"__proto__"}', 'band: wants a band'],
  ['{"kind":"setting","name":"brightness","value":"9"}', 'value: wants what the set offers for it'],
  ['{"kind":"setting","name":"tone colour","value":"9"}', 'value: wants what the set offers for it'],
  ['{"kind":"setting","value":3}', 'name: wants a setting; value: wants what the set offers for it'],
  ['{"kind":"whistle","on":"loud"}', 'on: wants true or false'],
  [
    '{"kind":"fault","instrument":"power","fault":"late","when":{"kind":"often"}}',
    'when: wants a time such as {"kind":"always"}',
  ],
  ['{"kind":"radio fault","fault":"gremlin","on":true}', 'fault: wants a fault of the radio'],
])('message %s is refused: %s', async (text, words) => {
  const { bench } = await memoryBench()
  const before = bench.set.view()
  expect(obeySetMessage(text, bench.set, bench.faults)).toBe(words)
  expect(bench.set.view()).toEqual(before)
})

test('meters without a socket are shown to whoever stands at the set, and only those', async () => {
  const { port } = await withPage('no-socket')
  const page = await openPage(port)
  expect(await page.next()).toMatchObject({ displays: { 'RF power': '0.00 W', 'FM deviation': '---' } })
  const other = await withPage('one-box')
  expect(await (await openPage(other.port)).next()).toMatchObject({ displays: {} })
})
