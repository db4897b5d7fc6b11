import { createServer, type Socket } from 'node:net'
import { afterEach, expect, test } from 'vitest'
import { BenchError } from '../../../src/fault/bench-error.ts'
import { type Clock, realClock } from '../../../src/system/clock.ts'
import { silentLog } from '../../../src/system/log.ts'
import type { Link } from '../../../src/transport/link.ts'
import { openLink } from '../../../src/transport/open-link.ts'
import type { BytePort } from '../../../src/transport/port/byte-port.ts'
import { openTcpPort, tcpOpenFault } from '../../../src/transport/port/tcp-port.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { openLineServer } from '../../kit/links/line-server.ts'
import { PLAIN, quietSignal, WAIT } from '../../kit/links/link-kit.ts'

const WHO = 'counter (counter-scpi)'
const CHECK_OPEN =
  'Check that the instrument is on, the cable is in and nobody else uses the port [TRANSPORT_OPEN_FAILED]'
const LOST = 'Plug it back in; the step goes on by itself when it answers again [TRANSPORT_LINK_LOST]'

const toClose: (() => Promise<void>)[] = []
afterEach(async () => {
  for (const close of toClose.splice(0).reverse()) await close()
})

async function serve(onLine: (line: string, socket: Socket) => boolean) {
  const server = await openLineServer(onLine)
  toClose.push(server.close)
  return server
}

async function linkTo(address: string): Promise<Link> {
  const deps = { clock: realClock(), log: silentLog }
  const link = await openLink({ who: WHO, address, manners: { ...PLAIN, quietMs: 10 }, deps, wait: WAIT })
  toClose.push(() => link.close())
  return link
}

function openPort(port: number, clock: Clock = realClock(), host = '127.0.0.1'): Promise<BytePort> {
  return openTcpPort({ kind: 'tcp', host, port }, { who: WHO, clock, log: silentLog, signal: quietSignal })
}

test('a refused connection is told at once and in words', async () => {
  const server = await openLineServer(() => false)
  await server.close()
  const refused = `tcp://127.0.0.1:${server.port} refused the connection: the computer or instrument there is on, but nothing listens on that port`
  await expect(openPort(server.port)).rejects.toMatchObject({ message: `${WHO}: ${refused}. ${CHECK_OPEN}` })
})

test('a name that nobody knows has words of its own', async () => {
  const fault = await openPort(5025, realClock(), 'counter.invalid').catch((error: unknown) => error)
  expect(fault).toBeInstanceOf(BenchError)
  expect(String(fault)).toMatch(
    /the name in tcp:\/\/counter\.invalid:5025 (is not known on this network|could not be looked up)/,
  )
})

test.each([
  ['EHOSTUNREACH', 'OPEN_FAILED', 'tcp://10.0.0.9:5025 is unreachable: nobody on this network has that address'],
  ['ENETUNREACH', 'OPEN_FAILED', 'tcp://10.0.0.9:5025 is unreachable: this computer has no way into that network'],
  ['ETIMEDOUT', 'OPEN_FAILED', 'no answer from tcp://10.0.0.9:5025'],
  ['ECONNRESET', 'BUSY', 'tcp://10.0.0.9:5025 cut the connection at once, as instruments with room for one client do'],
  ['EACCES', 'DENIED', 'this computer does not permit a connection to tcp://10.0.0.9:5025'],
  ['EWHAT', 'OPEN_FAILED', 'tcp://10.0.0.9:5025 could not be reached (connect EWHAT)'],
])('the system code %s is TRANSPORT_%s in words of its own', (system, code, happened) => {
  const error = Object.assign(new Error(`connect ${system}`), { code: system })
  const fault = tcpOpenFault(error, 'tcp://10.0.0.9:5025', WHO)
  expect({ code: fault.code, happened: sentence(fault.happened), cause: fault.cause }).toEqual({
    code: `TRANSPORT_${code}`,
    happened,
    cause: error,
  })
})

test('no answer to the connection within 3000 ms of bench time ends the attempt', async () => {
  const server = await serve(() => false)
  let sleptMs = 0
  const hasty: Clock = {
    nowMs: () => 0,
    wallTime: () => '',
    sleepUntil: async (dueMs) => {
      sleptMs = dueMs // over at once: before the loop has looked at the socket even once
    },
  }
  await expect(openPort(server.port, hasty)).rejects.toMatchObject({
    message: `${WHO}: no answer from tcp://127.0.0.1:${server.port} within 3000 ms. ${CHECK_OPEN}`,
  })
  expect(sleptMs).toBe(3000)
})

test('an instrument that takes the connection and closes it at once is busy', async () => {
  const server = await serve(() => false)
  const turnAway = createServer((socket) => socket.end())
  await new Promise<void>((resolve) => turnAway.listen(0, '127.0.0.1', resolve))
  toClose.push(() => new Promise((resolve) => turnAway.close(() => resolve())))
  const at = turnAway.address()
  const address = `tcp://127.0.0.1:${at !== null && typeof at === 'object' ? at.port : 0}`
  await expect(linkTo(address)).rejects.toMatchObject({
    message: `${WHO}: ${address} closed the connection at once, before it said anything. Another program holds the instrument: close it there, or wait [TRANSPORT_BUSY]`,
  })
  expect(server.sockets.size).toBe(0)
})

test('questions over a real socket are answered, one write each', async () => {
  const server = await serve((line, socket) => line === 'READ?' && socket.write('+1.38012E+01\r\n'))
  const link = await linkTo(server.address)
  const replies = await Promise.all(Array.from({ length: 50 }, () => link.ask('READ?', WAIT)))
  expect(new Set(replies.map((reply) => reply.text))).toEqual(new Set(['+1.38012E+01']))
})

test('the connection is closed from the other side in the middle of a reply', async () => {
  const server = await serve((line, socket) => {
    if (line !== 'READ?') return false
    socket.end('+1.38')
    return true
  })
  const link = await linkTo(server.address)
  const lost = new Promise<BenchError>((resolve) => link.onLost(resolve))
  const words = `${WHO}: ${server.address} closed the connection, with READ? unanswered. ${LOST}`
  await expect(link.ask('READ?', WAIT)).rejects.toMatchObject({ message: words })
  expect((await lost).message).toBe(words)
})

test('the connection is reset in the middle of a reply', async () => {
  const server = await serve((line, socket) => {
    if (line !== 'READ?') return false
    socket.resetAndDestroy()
    return true
  })
  const link = await linkTo(server.address)
  await expect(link.ask('READ?', WAIT)).rejects.toMatchObject({
    message: `${WHO}: ${server.address} cut the connection (read ECONNRESET), with READ? unanswered. ${LOST}`,
  })
})

test('a black hole: connected, reads, never answers; opening gives up after its two tries', async () => {
  const server = await serve(() => true)
  const deps = { clock: realClock({ times: 20, originMs: Date.now() }), log: silentLog }
  const manners = { ...PLAIN, quietMs: 10 }
  await expect(openLink({ who: WHO, address: server.address, manners, deps, wait: WAIT })).rejects.toMatchObject({
    code: 'TRANSPORT_REPLY_TIMEOUT',
  })
  expect(server.heard.filter((line) => line === '*ESE?')).toHaveLength(2)
})

test('a late reply over a real socket never answers the next question', async () => {
  let owed = false
  const server = await serve((line, socket) => {
    // late is: after whatever is said next, however busy the machine is
    if (owed) socket.write('late A\n')
    owed = line === 'A?'
    if (line === 'B?') socket.write('B\n')
    return line.endsWith('?') && !line.startsWith('*')
  })
  const link = await linkTo(server.address)
  await expect(link.ask('A?', { ms: 30, signal: quietSignal })).rejects.toMatchObject({
    code: 'TRANSPORT_REPLY_TIMEOUT',
  })
  expect((await link.ask('B?', WAIT)).text).toBe('B')
})

test('a reply that the computer holds already counts, though the program was busy past the deadline', async () => {
  const server = await serve((line, socket) => line === 'READ?' && socket.write('1\n'))
  const link = await linkTo(server.address)
  await link.ask('READ?', WAIT)
  const asked = link.ask('READ?', { ms: 30, signal: quietSignal })
  await new Promise((resolve) => setImmediate(resolve)) // the question has left
  const until = performance.now() + 80
  while (performance.now() < until);
  expect((await asked).text).toBe('1')
})

test('a write after close rejects and is not sent; close says goodbye to the other side', async () => {
  const server = await serve(() => true)
  const port = await openPort(server.port)
  await port.write('one\n')
  await port.close()
  await port.close()
  await expect(port.write('two\n')).rejects.toThrow(`tcp://127.0.0.1:${server.port} was closed`)
  expect(server.heard).toEqual(['one'])
  expect(server.sockets.size).toBe(0)
})

test('16 MB to a side that does not read is not called taken until it is', async () => {
  const server = createServer((socket) => socket.pause())
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const at = server.address()
  const port = await openPort(at !== null && typeof at === 'object' ? at.port : 0)
  let taken = false
  const writing = port.write('x'.repeat(16 * 1024 * 1024)).then(
    () => {
      taken = true
    },
    () => 'refused',
  )
  await new Promise((resolve) => setTimeout(resolve, 50))
  expect(taken).toBe(false)
  await port.close()
  expect(await writing).toBe('refused')
  server.close()
})
