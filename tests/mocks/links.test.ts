import { once } from 'node:events'
import { existsSync } from 'node:fs'
import { connect, type Socket } from 'node:net'
import { ReadlineParser } from '@serialport/parser-readline'
import { SerialPort } from 'serialport'
import { afterEach, expect, test } from 'vitest'
import { canServePty } from '../../mocks/links/pty-line.ts'
import { type InstrumentName, openSimulatedBench, type SimulatedBench } from '../../mocks/simulated-bench.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'

const opened: (() => Promise<void> | void)[] = []
afterEach(async () => {
  for (const close of opened.splice(0).toReversed()) await close()
})

async function realBench(): Promise<SimulatedBench> {
  const signal = new AbortController().signal
  const bench = await openSimulatedBench({
    clock: realClock(),
    rng: seededRng(1),
    log: silentLog,
    links: 'real',
    signal,
    seed: null,
  })
  opened.push(bench.close)
  return bench
}

interface Line {
  ask(text: string): Promise<string>
  readonly closed: Promise<void>
  readonly socket: Socket
}

function dial(bench: SimulatedBench, name: InstrumentName): Promise<Line> {
  const { hostname, port } = new URL(bench.addresses[name] ?? '')
  return new Promise((resolve, reject) => {
    const socket = connect(Number(port), hostname)
    opened.push(() => {
      socket.destroy()
    })
    const closed = new Promise<void>((done) => socket.once('close', () => done()))
    const arrived: string[] = []
    const lines = socket.pipe(new ReadlineParser({ delimiter: '\n' }))
    lines.on('data', (line: string) => arrived.push(line))
    socket.once('error', reject)
    socket.once('connect', () =>
      resolve({
        socket,
        closed,
        ask: (text) =>
          new Promise((answer) => {
            lines.once('data', (line: string) => answer(line))
            socket.write(`${text}\n`)
          }),
      }),
    )
  })
}

test('TCP: identity, two questions in one message, two messages in one write, a message in pieces', async () => {
  const bench = await realBench()
  expect(bench.addresses.power).toMatch(/^tcp:\/\/127\.0\.0\.1:\d+$/)
  const power = await dial(bench, 'power')
  expect(await power.ask('*IDN?')).toBe('TRIMWRIGHT SIMULATED,POWER METER,SIM0002,1.0')
  expect(await power.ask('*ESE 5;*ESE?;*SRE?')).toBe('5;0')
  const both: string[] = []
  const second = new Promise<void>((done) => {
    power.socket.on('data', (bytes: Buffer) => {
      both.push(...bytes.toString().trim().split('\n'))
      if (both.length >= 2) done()
    })
  })
  power.socket.write('*ESE?\n*SRE?\r\n')
  await second
  expect(both).toEqual(['5', '0'])
  power.socket.write('*E')
  await new Promise((resolve) => setTimeout(resolve, 20))
  expect(await power.ask('SE?')).toBe('5')
})

test('TCP: a new client replaces the old one', async () => {
  const bench = await realBench()
  const first = await dial(bench, 'counter')
  const second = await dial(bench, 'counter')
  await first.closed
  expect(await second.ask('*IDN?')).toContain('COUNTER')
})

test('TCP: unplugged, the client is cut off and nobody answers; plugged in, the same address answers', async () => {
  const bench = await realBench()
  const power = await dial(bench, 'power')
  bench.faults.set('power', 'unplugged', { kind: 'always' }, { ms: 1e9 })
  await power.closed
  await expect(dial(bench, 'power')).rejects.toThrow('ECONNREFUSED')
  bench.faults.clear('power', 'unplugged')
  await new Promise((resolve) => setTimeout(resolve, 50))
  expect(await (await dial(bench, 'power')).ask('*IDN?')).toContain('POWER METER')
})

test('TCP: the chunk fault splits a reply into pieces that arrive apart', async () => {
  const bench = await realBench()
  const power = await dial(bench, 'power')
  bench.faults.set('power', 'pieces', { kind: 'always' }, { ms: 15 })
  let pieces = 0
  power.socket.on('data', () => {
    pieces += 1
  })
  expect(await power.ask('*IDN?')).toContain('POWER METER')
  expect(pieces).toBeGreaterThan(5)
})

test('after close no address answers any more', async () => {
  const bench = await realBench()
  await bench.close()
  await bench.close()
  await expect(dial(bench, 'supply')).rejects.toThrow('ECONNREFUSED')
})

const pty = await canServePty()

test.skipIf(!pty)(
  'pseudo-terminal: a serial port speaks with the multimeter, closes, opens again and goes on (socat)',
  async () => {
    const bench = await realBench()
    expect(bench.addresses.volts).toMatch(/^serial:\/.*\?baud=9600$/)
    const path = (bench.addresses.volts ?? '').replace(/^serial:/, '').replace(/\?.*$/, '')
    const first = await openSerial(path)
    expect(await first.ask('*IDN?')).toBe('TRIMWRIGHT SIMULATED,MULTIMETER,SIM0004,1.0')
    await first.close()
    const second = await openSerial(path)
    expect(await second.ask('*ESE 9;*ESE?')).toBe('9')
    await second.close()
  },
)

test.skipIf(!pty)(
  'pseudo-terminal: unplugged, its path is gone; plugged in, the same path answers (socat)',
  async () => {
    const bench = await realBench()
    const path = (bench.addresses.volts ?? '').replace(/^serial:/, '').replace(/\?.*$/, '')
    const first = await openSerial(path)
    const gone = once(first.port, 'close').then(() => 'closed') // a write to a closed port is never answered
    expect(await first.ask('*IDN?')).toContain('MULTIMETER')
    bench.faults.set('volts', 'unplugged', { kind: 'always' }, { ms: 1e9 })
    await until(() => !existsSync(path))
    await expect(openSerial(path)).rejects.toThrow('No such file')
    // A client that only listens may not notice; one that writes does.
    const refused = new Promise<string>((resolve) =>
      first.port.write('*IDN?\n', (error) => resolve(error?.message ?? 'written')),
    )
    expect(await Promise.race([refused, gone])).not.toBe('written')
    bench.faults.clear('volts', 'unplugged')
    await until(() => existsSync(path))
    const second = await openSerial(path)
    expect(await second.ask('*IDN?')).toContain('MULTIMETER')
    await second.close()
  },
)

async function until(done: () => boolean): Promise<void> {
  for (let wait = 0; wait < 500 && !done(); wait += 1) await new Promise((resolve) => setTimeout(resolve, 20))
}

function openSerial(
  path: string,
): Promise<{ port: SerialPort; ask(text: string): Promise<string>; close(): Promise<void> }> {
  return new Promise((resolve, reject) => {
    const port = new SerialPort({ path, baudRate: 9600 }, (error) => {
      if (error) return reject(error)
      const lines = port.pipe(new ReadlineParser({ delimiter: '\n' }))
      resolve({
        port,
        ask: (text) =>
          new Promise((answer) => {
            lines.once('data', (line: string) => answer(line))
            port.write(`${text}\n`)
          }),
        close: () => new Promise((done) => (port.isOpen ? port.close(() => done()) : done())),
      })
    })
  })
}
