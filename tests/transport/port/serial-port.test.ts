import { SerialPort } from 'serialport'
import { afterEach, describe, expect, test } from 'vitest'
import { realClock } from '../../../src/system/clock.ts'
import { silentLog } from '../../../src/system/log.ts'
import type { Link, LinkManners, Owed } from '../../../src/transport/link.ts'
import { openLink } from '../../../src/transport/open-link.ts'
import { openSerialPort, serialOpenFault } from '../../../src/transport/port/serial-port.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { PLAIN, quietSignal, WAIT } from '../../kit/links/link-kit.ts'
import { noPtyBecause, openPty, type PtyPair } from '../../kit/links/pty.ts'

const WHO = 'power (power-meter-scpi)'
const NEEDS = { who: WHO, clock: realClock(), log: silentLog, signal: quietSignal }
const PORT = { kind: 'serial', baud: 9600, dataBits: 8, parity: 'none', stopBits: 1 } as const

const toClose: (() => Promise<void>)[] = []
afterEach(async () => {
  for (const close of toClose.splice(0).reverse()) await close()
})

test('a port that is not there is told in words', async () => {
  await expect(openSerialPort({ ...PORT, path: '/dev/ttyNOBODY9' }, NEEDS)).rejects.toMatchObject({
    message: `${WHO}: there is no port /dev/ttyNOBODY9: the adapter is not plugged in, or has another name now. Check that the instrument is on, the cable is in and nobody else uses the port [TRANSPORT_OPEN_FAILED]`,
  })
})

test.each([
  ['Error: Permission denied, cannot open /dev/ttyUSB0', 'DENIED', 'this user may not open /dev/ttyUSB0'],
  ['Error Resource temporarily unavailable Cannot lock port', 'BUSY', '/dev/ttyUSB0 is held by another program'],
  ['Opening COM5: Access denied', 'BUSY', '/dev/ttyUSB0 is held by another program'],
  [
    'Opening COM5: File not found',
    'OPEN_FAILED',
    'there is no port /dev/ttyUSB0: the adapter is not plugged in, or has another name now',
  ],
  ['Inappropriate ioctl', 'OPEN_FAILED', '/dev/ttyUSB0 did not open (Inappropriate ioctl)'],
])('the system text %j is TRANSPORT_%s in words of its own', (text, code, happened) => {
  const error = new Error(text)
  const fault = serialOpenFault(error, '/dev/ttyUSB0', WHO)
  expect({ code: fault.code, happened: sentence(fault.happened), cause: fault.cause }).toEqual({
    code: `TRANSPORT_${code}`,
    happened,
    cause: error,
  })
})

test('a denied port says what to do about it', () => {
  expect(serialOpenFault(new Error('Permission denied'), '/dev/ttyUSB0', WHO).message).toBe(
    `${WHO}: this user may not open /dev/ttyUSB0. This user may not open the port: join the group that owns it (often dialout) and log in again [TRANSPORT_DENIED]`,
  )
})

test('a called off opening rejects with its own reason', async () => {
  const signal = AbortSignal.abort('called off')
  await expect(openSerialPort({ ...PORT, path: '/dev/ttyNOBODY9' }, { ...NEEDS, signal })).rejects.toBe('called off')
})

/** Where there is no pseudo-terminal the reason stands in the name of the group. */
const named = noPtyBecause === null ? 'over a pseudo-terminal' : `over a pseudo-terminal (left out: ${noPtyBecause})`

describe.skipIf(noPtyBecause !== null)(named, () => {
  /** An instrument at the far end, which may be slow with one question. */
  async function instrumentAt(pair: PtyPair, answers: Readonly<Record<string, { say: string; afterMs?: number }>>) {
    const serial = new SerialPort({ path: pair.theirs, baudRate: 9600, autoOpen: false })
    const heard: string[] = []
    let held = ''
    let enabled = '0'
    let freeMs = 0
    serial.on('error', () => {}) // the plug is pulled in some tests
    serial.on('data', (chunk: Buffer) => {
      const lines = (held + chunk.toString('latin1')).split('\n')
      held = lines.pop() ?? ''
      for (const line of lines) {
        heard.push(line)
        if (line.startsWith('*ESE ')) enabled = line.slice(5)
        const { say, afterMs = 0 } = answers[line] ?? { say: line === '*ESE?' ? enabled : '' }
        if (say === '') continue
        freeMs = Math.max(freeMs, performance.now()) + afterMs
        setTimeout(() => serial.write(`${say}\r\n`), freeMs - performance.now())
      }
    })
    await new Promise<void>((resolve, reject) => serial.open((error) => (error ? reject(error) : resolve())))
    toClose.push(() => new Promise((resolve) => (serial.isOpen ? serial.close(() => resolve()) : resolve())))
    return heard
  }

  async function pty(): Promise<PtyPair> {
    const pair = await openPty()
    toClose.push(() => pair.unplug())
    return pair
  }

  async function linkOver(pair: PtyPair, manners: Partial<LinkManners> = {}, owed: Owed | null = null): Promise<Link> {
    const link = await openLink({
      who: WHO,
      address: `serial:${pair.ours}?baud=9600`,
      manners: { ...PLAIN, quietMs: 30, ...manners },
      deps: { clock: realClock(), log: silentLog },
      wait: WAIT,
      ...(owed ? { owed } : {}),
    })
    toClose.push(() => link.close())
    return link
  }

  test('questions are answered', async () => {
    const pair = await pty()
    await instrumentAt(pair, { 'READ?': { say: '+3.70E+00' } })
    const link = await linkOver(pair)
    const replies = await Promise.all(Array.from({ length: 10 }, () => link.ask('READ?', WAIT)))
    expect(replies.map((reply) => reply.text)).toEqual(Array.from({ length: 10 }, () => '+3.70E+00'))
  })

  test('a port that another program holds is busy, in words', async () => {
    const pair = await pty()
    await instrumentAt(pair, {})
    await linkOver(pair)
    await expect(openSerialPort({ ...PORT, path: pair.ours }, NEEDS)).rejects.toMatchObject({
      message: `${WHO}: ${pair.ours} is held by another program. Another program holds the instrument: close it there, or wait [TRANSPORT_BUSY]`,
    })
  })

  test('a reply that comes after closing does not answer the first question of the next link', async () => {
    const pair = await pty()
    await instrumentAt(pair, { 'A?': { say: 'late A', afterMs: 400 }, 'B?': { say: 'B' } })
    const link = await linkOver(pair)
    await expect(link.ask('A?', { ms: 300, signal: quietSignal })).rejects.toMatchObject({
      code: 'TRANSPORT_REPLY_TIMEOUT',
    })
    await link.close()
    const again = await linkOver(pair, {}, link.owed())
    expect((await again.ask('B?', WAIT)).text).toBe('B')
  })

  test('the same with a new connection as the way back in step', async () => {
    const pair = await pty()
    await instrumentAt(pair, { 'A?': { say: 'late A', afterMs: 400 }, 'B?': { say: 'B' } })
    const link = await linkOver(pair, { resync: 'reopen' })
    await expect(link.ask('A?', { ms: 300, signal: quietSignal })).rejects.toMatchObject({
      code: 'TRANSPORT_REPLY_TIMEOUT',
    })
    expect((await link.ask('B?', WAIT)).text).toBe('B')
  })

  test('a pulled plug is noticed while nothing is asked', async () => {
    const pair = await pty()
    await instrumentAt(pair, {})
    const link = await linkOver(pair)
    const lost = new Promise((resolve) => link.onLost(resolve))
    await pair.unplug()
    expect(await lost).toMatchObject({
      message: `${WHO}: serial:${pair.ours} is gone: the plug is out or the adapter was reset. Plug it back in; the step goes on by itself when it answers again [TRANSPORT_LINK_LOST]`,
    })
  })

  test('a plug pulled with a question on its way ends the question, and a later command is refused, not kept for the next open', async () => {
    const pair = await pty()
    const heard = await instrumentAt(pair, { 'READ?': { say: '1', afterMs: 5000 } })
    const link = await linkOver(pair)
    const asked = expect(link.ask('READ?', { ms: 10_000, signal: quietSignal })).rejects.toMatchObject({
      code: 'TRANSPORT_LINK_LOST',
    })
    await new Promise((resolve) => setTimeout(resolve, 50))
    await pair.unplug()
    await asked
    await expect(link.tell('OUTP ON', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_LINK_LOST' })
    expect(heard).not.toContain('OUTP ON')
  })

  test('a write to a closed port rejects', async () => {
    const pair = await pty()
    const heard = await instrumentAt(pair, {})
    const port = await openSerialPort({ ...PORT, path: pair.ours }, NEEDS)
    await port.close()
    await expect(port.write('OUTP ON\n')).rejects.toThrow(`serial:${pair.ours} was closed`)
    const again = await openSerialPort({ ...PORT, path: pair.ours }, NEEDS)
    await again.write('*CLS\n')
    await expect.poll(() => heard).toEqual(['*CLS'])
    await again.close()
  })
})
