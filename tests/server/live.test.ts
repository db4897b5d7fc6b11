import { randomBytes } from 'node:crypto'
import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { openServer, type Server } from '../../src/server/open-server.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { type VirtualClock, virtualClock } from '../../src/system/virtual-clock.ts'
import { type FakeSource, fakeSource, idleFrame } from '../kit/links/fake-source.ts'
import { joinLive, type LiveClient } from '../kit/links/live-client.ts'
import { pageFolder } from '../kit/program/page-folder.ts'

const warnings: string[] = []
const log = { ...silentLog, warn: (_: object, words: string) => void warnings.push(words) }
let clock: VirtualClock
let source: FakeSource
let server: Server

beforeEach(async () => {
  warnings.length = 0
  clock = virtualClock()
  source = fakeSource(clock)
  server = await openServer({ source, port: 0, webRoot: await pageFolder(), clock, log })
})
afterEach(() => clock.runUntil(server.close()))

/** Joins and takes what a page is greeted with. */
async function join(): Promise<LiveClient> {
  const client = await joinLive(server)
  await client.take('welcome')
  await client.take('role')
  await client.take('frame')
  return client
}

/** Everything sent so far has been read by both sides. */
async function settled(client: LiveClient): Promise<void> {
  const answered = new Promise((resolve) => client.socket.once('pong', resolve))
  client.socket.ping()
  await answered
}

const pause = () => new Promise((resolve) => setImmediate(resolve))

/** Lets real input and output happen until `found` is true; the test's own time limit is the deadline. */
async function until(found: () => boolean): Promise<void> {
  while (!found()) await pause()
}

describe('frames', () => {
  test('a page is greeted with the bench, its role and the newest frame, in this order', async () => {
    source.emit({ because: 'made before the page came' })
    const client = await joinLive(server)
    await settled(client)
    expect(client.waiting).toEqual([
      source.welcome(),
      { kind: 'role', steering: 'you', asked: false },
      { ...idleFrame(2, 0), because: 'made before the page came' },
    ])
  })

  test('every frame goes to every page, the moment it is made', async () => {
    const clients = [await join(), await join(), await join()]
    for (let seq = 2; seq <= 11; seq += 1) source.emit()
    const got = await Promise.all(clients.map((client) => client.take('frame', (frame) => frame.seq === 11)))
    expect(got).toHaveLength(3)
    for (const client of clients)
      expect(client.waiting.filter((message) => message.kind === 'frame').map((frame) => frame.seq)).toEqual([
        2, 3, 4, 5, 6, 7, 8, 9, 10,
      ])
  })

  test('a beat with the service clock goes out each second', async () => {
    const client = await join()
    await clock.advance(3_000)
    await settled(client)
    expect(client.waiting).toEqual([
      { kind: 'beat', atMs: 1_000 },
      { kind: 'beat', atMs: 2_000 },
      { kind: 'beat', atMs: 3_000 },
    ])
  })

  test('on a clock ten times faster than the people, a beat still goes out each second of theirs, with the service clock', async () => {
    const fast = { ...clock, nowMs: () => clock.nowMs() * 10 }
    const other = await openServer({ source, port: 0, webRoot: await pageFolder(), clock: fast, pageClock: clock, log })
    const client = await joinLive(other)
    await clock.advance(2_000)
    await settled(client)
    expect(client.waiting.filter((message) => message.kind === 'beat').map((beat) => beat.atMs)).toEqual([
      10_000, 20_000,
    ])
    expect(source.presences).toEqual(['present: the page that steers is here'])
    await other.close()
  })

  test('a page that stops reading for 3000 frames of 20 kB costs no memory, holds up nobody and then gets the newest', async () => {
    const slow = await join()
    const quick = await join()
    slow.socket.pause()
    const padding = 'x'.repeat(20_000)
    const before = memoryMiB()
    for (let count = 0; count < 3_000; count += 1) {
      source.emit({ because: padding })
      await pause()
      quick.waiting.length = 0 // the quick page lives in this process too and must not be what grows
    }
    source.emit()
    const newest = source.latest().seq
    await quick.take('frame', (frame) => frame.seq === newest)
    quick.waiting.length = 0
    memoryMiB()
    await pause()
    await pause() // buffers that the collector has seen are given back a turn later
    expect(memoryMiB() - before).toBeLessThan(4) // 60 MB were sent

    await clock.advance(3_000)
    slow.socket.resume()
    await slow.take('frame', (frame) => frame.seq === newest)
    expect(slow.waiting.filter((message) => message.kind === 'beat')).toEqual([]) // three old ones would tell nothing
    const got = slow.waiting.filter((message) => message.kind === 'frame').length
    expect(got).toBeLessThanOrEqual(Math.floor((256 * 1024) / 20_000))
    expect(warnings).toEqual([])
  })

  test('a page that does not catch up for 10 s is cut off, and the others stay', async () => {
    const slow = await join()
    const quick = await join()
    slow.socket.pause()
    for (let count = 0; count < 30; count += 1) {
      source.emit({ because: 'x'.repeat(20_000) })
      await pause()
    }
    await clock.advance(9_750)
    expect(server.clients()).toBe(2)
    await clock.advance(500)
    expect(server.clients()).toBe(1)
    expect(warnings).toEqual([
      expect.stringMatching(/^page 1 \(127\.0\.0\.1:\d+\): it has not caught up for 10 s; cut off$/),
    ])
    await quick.take('role', (role) => role.steering === 'nobody')
    await server.close() // the clock stands still, so this would wait for a socket that was only forgotten
    slow.socket.terminate()
  })

  test('a page that answers no ping is cut off at the third one, after 30 s', async () => {
    const frozen = await join()
    frozen.socket.pause()
    await clock.advance(29_750)
    expect(server.clients()).toBe(1)
    await clock.advance(500)
    expect(server.clients()).toBe(0)
    expect(warnings[0]).toMatch(/it answered none of 2 pings, 10 s apart; cut off$/)
    frozen.socket.terminate()
  })

  test('a page that answers its pings stays for an hour', async () => {
    const client = await join()
    for (let count = 0; count < 360; count += 1) {
      await clock.advance(10_000)
      await settled(client)
    }
    expect(server.clients()).toBe(1)
  })
})

describe('steering', () => {
  test('a watching page asks, the steering one hands over, and both are told', async () => {
    const first = await join()
    const second = await join()
    expect(await second.ask({ kind: 'steer', id: 'b1' })).toMatchObject({
      ok: true,
      words: 'Asked. The page that steers has to hand over.',
    })
    expect(await first.take('role')).toEqual({ kind: 'role', steering: 'you', asked: true })
    expect(await second.take('role')).toEqual({ kind: 'role', steering: 'another', asked: true })
    expect(await first.ask({ kind: 'hand over', id: 'a1' })).toMatchObject({ ok: true })
    expect(await second.take('role')).toEqual({ kind: 'role', steering: 'you', asked: false })
    expect(await first.take('role')).toEqual({ kind: 'role', steering: 'another', asked: false })
    expect(await second.ask({ kind: 'ready', id: 'b2' })).toMatchObject({ ok: true, words: 'done' })
    expect(source.requests).toEqual([{ kind: 'ready', id: 'b2' }])
    expect(source.presences).toEqual(['present: the page that steers is here'])
  })

  test.each(['ready', 'confirm', 'next', 'go on', 'close job', 'hand over'] as const)(
    'a watching page may not ask for "%s"',
    async (kind) => {
      await join()
      const watching = await join()
      const { ok, words } = await watching.ask({ kind, id: 'b1' })
      expect(ok).toBe(false)
      expect(words).toMatch(/^page 2 \(127\.0\.0\.1:\d+\): it asked for "/)
      expect(words).toContain(
        `it asked for "${kind}" and only watches. Ask the page that steers to hand over [SERVER_NOT_STEERING]`,
      )
      expect(source.requests).toEqual([])
    },
  )

  test('handing over when nobody asked is refused', async () => {
    const client = await join()
    const { ok, words } = await client.ask({ kind: 'hand over', id: 'a1' })
    expect(ok).toBe(false)
    expect(words).toContain('no other page has asked to steer')
    expect((await client.ask({ kind: 'ready', id: 'a2' })).ok).toBe(true)
  })

  test('a reloaded page steers again, even while another one watches', async () => {
    const first = await join()
    const watching = await join()
    first.close()
    expect(await watching.take('role')).toEqual({ kind: 'role', steering: 'nobody', asked: false })
    expect(source.presences.at(-1)).toBe('absent: the page that steers is gone')
    const reloaded = await joinLive(server)
    expect(await reloaded.take('role')).toMatchObject({ steering: 'you' })
    expect(await watching.take('role')).toMatchObject({ steering: 'another' })
    expect(source.presences.at(-1)).toBe('present: the page that steers is here')
  })

  test('when nobody steers, a watching page that asks gets it at once', async () => {
    const first = await join()
    const watching = await join()
    first.close()
    await watching.take('role', (role) => role.steering === 'nobody')
    expect(await watching.ask({ kind: 'steer', id: 'b1' })).toMatchObject({ ok: true, words: 'This page steers now.' })
    expect(await watching.take('role')).toMatchObject({ steering: 'you' })
    expect(source.presences.at(-1)).toBe('present: the page that steers is here')
  })

  test('a steering page that is hidden for more than 10 s gives way to the one that asked, and finds itself watching', async () => {
    const first = await join()
    const watching = await join()
    first.say({ kind: 'here', visible: false })
    await settled(first)
    expect(await watching.ask({ kind: 'steer', id: 'b1' })).toMatchObject({
      ok: true,
      words: 'Asked. The page that steers has to hand over.',
    })
    await first.take('role', (role) => role.asked)
    await clock.advance(10_000)
    await settled(watching)
    expect(watching.waiting.filter(({ kind }) => kind === 'role')).toEqual([
      { kind: 'role', steering: 'another', asked: true },
    ])
    watching.say({ kind: 'here', visible: true })
    await settled(watching)
    await clock.advance(250)
    await watching.take('role', (role) => role.steering === 'you')
    expect(await first.take('role')).toEqual({ kind: 'role', steering: 'another', asked: false })
    expect(source.presences.at(-1)).toBe('present: the page that steers is here')
  })

  test('who asks while the steering page was not seen for more than 10 s steers at once', async () => {
    const first = await join()
    const watching = await join()
    await clock.advance(9_000)
    first.say({ kind: 'here', visible: false }) // alive, but seen last at 0 s
    watching.say({ kind: 'here', visible: true })
    await settled(first)
    await clock.advance(1_250)
    expect(await watching.ask({ kind: 'steer', id: 'b1' })).toMatchObject({
      ok: true,
      words: 'This page steers now: nobody is at the other one.',
    })
    expect(await watching.take('role')).toMatchObject({ steering: 'you' })
  })

  test('the source is told when the steering page is hidden, shown, silent for 5 s, heard again and gone', async () => {
    const client = await join()
    const here = async (visible: boolean) => {
      client.say({ kind: 'here', visible })
      await settled(client)
    }
    await here(false)
    await here(true)
    await clock.advance(5_000)
    expect(source.presences).toHaveLength(3)
    await clock.advance(250)
    await here(true)
    client.close()
    await client.gone
    await until(() => server.clients() === 0)
    expect(source.presences).toEqual([
      'present: the page that steers is here',
      'absent: the page that steers is hidden',
      'present: the page that steers is here',
      'absent: the page that steers has said nothing for 5 s',
      'present: the page that steers is here',
      'absent: the page that steers is gone',
    ])
  })

  test('what a watching page says of itself does not count for the steering one', async () => {
    await join()
    const watching = await join()
    watching.say({ kind: 'here', visible: false })
    await settled(watching)
    expect(source.presences).toEqual(['present: the page that steers is here'])
  })

  test('a page cut off without a word counts as gone', async () => {
    const client = await join()
    client.socket.terminate()
    await until(() => server.clients() === 0)
    expect(source.presences.at(-1)).toBe('absent: the page that steers is gone')
  })
})

describe('requests', () => {
  test('an answer that asks back says so to the page', async () => {
    const client = await join()
    source.answerWith(Promise.resolve({ ok: false, words: '39 W?', asksBack: true }))
    expect(await client.ask({ kind: 'next', id: 'a1' })).toMatchObject({ ok: false, words: '39 W?', asksBack: true })
  })

  test('a request sent twice is done once and answered twice', async () => {
    const client = await join()
    const first = await client.ask({ kind: 'ready', id: 'a1' })
    source.answerWith(Promise.resolve({ ok: false, words: 'not now' }))
    expect(await client.ask({ kind: 'ready', id: 'a1' })).toEqual(first)
    expect(await client.ask({ kind: 'ready', id: 'a2' })).toMatchObject({ ok: false, words: 'not now' })
    expect(source.requests).toEqual([
      { kind: 'ready', id: 'a1' },
      { kind: 'ready', id: 'a2' },
    ])
  })

  test('nor is it done again over a new connection, while its answer is still on its way', async () => {
    let answer: (value: { ok: boolean; words: string }) => void = () => {}
    source.answerWith(
      new Promise((resolve) => {
        answer = resolve
      }),
    )
    const client = await join()
    client.say({ kind: 'next', id: 'a1' })
    await settled(client)
    client.socket.terminate()
    await until(() => server.clients() === 0)
    const again = await join()
    const answered = again.ask({ kind: 'next', id: 'a1' })
    await settled(again)
    answer({ ok: true, words: 'step 2 is open' })
    expect(await answered).toMatchObject({ ok: true, words: 'step 2 is open' })
    expect(source.requests).toHaveLength(1)
  })

  test('two different requests under one id are both done', async () => {
    const client = await join()
    await client.ask({ kind: 'ready', id: '1' })
    await client.ask({ kind: 'next', id: '1' })
    expect(source.requests.map((request) => request.kind)).toEqual(['ready', 'next'])
  })

  test('a stop is passed on every time', async () => {
    const client = await join()
    await client.ask({ kind: 'stop', id: '1' })
    await client.ask({ kind: 'stop', id: '1' })
    expect(source.requests.map((request) => request.kind)).toEqual(['stop', 'stop'])
  })

  test('a request that was refused to a watching page is done once it steers', async () => {
    const first = await join()
    const second = await join()
    expect((await second.ask({ kind: 'ready', id: 'b1' })).ok).toBe(false)
    first.close()
    await second.take('role')
    await second.ask({ kind: 'steer', id: 'b2' })
    expect((await second.ask({ kind: 'ready', id: 'b1' })).ok).toBe(true)
  })

  test('a page with 32 requests without an answer is refused the next', async () => {
    source.answerWith(new Promise(() => {}))
    const client = await join()
    for (let count = 1; count <= 32; count += 1) {
      client.say({ kind: 'ready', id: `a${count}` })
      if (count === 16) {
        await settled(client)
        await clock.advance(1_000)
      }
    }
    await settled(client)
    await clock.advance(1_000)
    expect((await client.ask({ kind: 'ready', id: 'a33' })).words).toContain('32 of its requests are not answered yet')
    expect(source.requests).toHaveLength(32)
  })

  test.each<[string, string | Buffer, string, string]>([
    ['what is not JSON', 'ready!', '', 'it sent 6 characters that are not JSON'],
    ['bytes', Buffer.from('{"kind":"ready","id":"a"}'), '', 'it sent bytes, not text'],
    ['an unknown field', '{"kind":"ready","id":"a","volts":99}', 'a', 'message: Unrecognized key: "volts"'],
  ])('refuses %s in words and in the log, and keeps the page', async (_, text, id, happened) => {
    const client = await join()
    client.say(text)
    const answer = await client.take('answer')
    expect(answer).toMatchObject({ id, ok: false })
    expect(answer.words).toContain(`: ${happened}. Reload the page [SERVER_FRAME_REFUSED]`)
    expect(warnings).toEqual([answer.words])
    expect((await client.ask({ kind: 'ready', id: 'z' })).ok).toBe(true)
  })

  test('a page that sends 11 unusable messages is closed, and counts as gone at once', async () => {
    const client = await join()
    for (let count = 0; count < 11; count += 1) client.say(`rubbish ${count}`)
    await until(() => server.clients() === 0)
    expect(source.presences.at(-1)).toBe('absent: the page that steers is gone')
    expect(await client.gone).toBe(1008)
    expect(warnings).toHaveLength(11)
  })

  test('a closed page that does not go is cut off after 300 ms, and what it sends meanwhile is not done', async () => {
    const client = await join()
    client.socket.pause() // it will not read the goodbye
    for (let count = 0; count < 11; count += 1) client.say('rubbish')
    client.say({ kind: 'ready', id: 'a1' })
    await until(() => server.clients() === 0)
    await clock.advance(300)
    await server.close() // the clock stands still, so this would wait for a socket that was not cut
    expect(source.requests).toEqual([])
    client.socket.terminate()
  })

  test('a flood of 1000 requests is cut short after the 20 a second allows and 11 refusals', async () => {
    const client = await join()
    for (let count = 0; count < 1_000; count += 1) client.say({ kind: 'next', id: `a${count}` })
    expect(await client.gone).toBe(1008)
    expect(source.requests).toHaveLength(20)
    expect(warnings).toHaveLength(11)
    expect(warnings[0]).toContain('it sent more than 20 messages in a second')
  })

  test('a message above 64 KiB ends the connection and is in the log', async () => {
    const client = await join()
    client.say(`{"kind":"ready","id":"${randomBytes(40_000).toString('hex')}"}`)
    expect(await client.gone).toBe(1009)
    await until(() => server.clients() === 0)
    expect(warnings).toEqual([
      expect.stringContaining('Max payload size exceeded. Reload the page [SERVER_FRAME_REFUSED]'),
    ])
  })
})

describe('coming and going', () => {
  test('the 65th page is turned away in words', async () => {
    const clients = await Promise.all(Array.from({ length: 64 }, () => joinLive(server)))
    await expect(joinLive(server)).rejects.toThrow('503')
    expect(warnings).toEqual([
      expect.stringContaining('64 pages are connected. Close pages that nobody looks at [SERVER_FULL]'),
    ])
    clients[0]?.close()
    await until(() => server.clients() === 63)
    await expect(joinLive(server)).resolves.toBeDefined()
  })

  test('closing says goodbye to every page and lets go of the source', async () => {
    const clients = [await join(), await join()]
    await server.close()
    expect(await Promise.all(clients.map((client) => client.gone))).toEqual([1001, 1001])
    expect(server.clients()).toBe(0)
    expect(source.listeners()).toBe(0)
    expect(source.presences.at(-1)).toBe('absent: the page that steers is gone')
    await expect(joinLive(server)).rejects.toThrow('ECONNREFUSED')
  })

  test('closing takes less than 1 s of real time with a page that reads nothing and another with a full socket', async () => {
    const real = realClock()
    const busy = fakeSource(real)
    const other = await openServer({ source: busy, port: 0, webRoot: await pageFolder(), clock: real, log })
    const frozen = [await joinLive(other), await joinLive(other)]
    for (const client of frozen) client.socket.pause()
    for (let count = 0; count < 30; count += 1) busy.emit({ because: 'x'.repeat(1_000_000) })
    const beganMs = performance.now()
    await Promise.all([other.close(), other.close()])
    const tookMs = performance.now() - beganMs
    expect(tookMs).toBeGreaterThan(250)
    expect(tookMs).toBeLessThan(1_000)
    expect(other.clients()).toBe(0)
    for (const client of frozen) client.socket.terminate()
  })
})

/** Memory that is really held: what can be thrown away is thrown away first. */
function memoryMiB(): number {
  setFlagsFromString('--expose-gc')
  runInNewContext('gc')()
  const { heapUsed, external } = process.memoryUsage()
  return (heapUsed + external) / 1024 / 1024
}
