import { type ChildProcess, fork } from 'node:child_process'
import { once } from 'node:events'
import { connect, createServer, type Socket } from 'node:net'
import { fileURLToPath } from 'node:url'
import { ReadlineParser } from '@serialport/parser-readline'
import { SerialPort } from 'serialport'
import { type CourseFacts, openCourse } from '../../src/course/course.ts'
import { readNumber } from '../../src/scpi/number.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import type { LinkManners } from '../../src/transport/link.ts'
import { type LinkOptions, openLink } from '../../src/transport/open-link.ts'
import { noPtyBecause, openPty } from '../kit/links/pty.ts'
import type { Figure } from './figure.ts'

/** One way to the instrument: asks the same so many times, one after the other. */
interface Side {
  ask(question: string, times: number): Promise<void>
  close(): Promise<void>
}

const REPLY = '+1.38012E+01'
const READ = 'MEAS:VOLT?'
const SLOW_READ = 'MEAS:POW?'
const SLOW_MS = 5
const BLOCKS = 12
const QUIET_BLOCKS = 5
const IN_BLOCK = 100
const THIS_FILE = fileURLToPath(import.meta.url)
const ANSWERER = 'answer-as-instrument'

/** link.guard, link.tcp and link.serial; both sides are measured turn by turn against one instrument process. */
export async function linkFigures(): Promise<Figure[]> {
  const instrument = fork(THIS_FILE, [ANSWERER], {
    execArgv: ['--import', 'tsx'],
    stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
  })
  try {
    const port = await told(instrument, 'tcp')
    const over = { ours: await linkSide(`tcp://127.0.0.1:${port}`), reference: await bareSocket(port) }
    const figures = [
      await guardFigure(over),
      await rateFigure('link.tcp', over, 1500, 20, 'a bare socket ping-pong of the same bytes'),
    ]
    await over.ours.close()
    figures.push(...(await courseFigures(`tcp://127.0.0.1:${port}`)))
    await over.reference.close()
    if (noPtyBecause === null) figures.push(await serialFigure(instrument))
    else console.error(`link.serial is left out: ${noPtyBecause}`)
    return figures
  } finally {
    instrument.disconnect()
    await once(instrument, 'exit')
  }
}

/** What it costs that what comes and goes is written down: the same link with and without, turn by turn. */
async function courseFigures(address: string): Promise<Figure[]> {
  const clock = realClock()
  const course = openCourse({ facts: NO_FACTS, clock, rng: () => 0, log: silentLog, keepIn: null, whole: null })
  const over = { ours: await linkSide(address, course.deps), reference: await linkSide(address) }
  const figures = [
    await guardFigure(over, 'link.course', 'what a course adds to the p99 of the same link without one'),
    await rateFigure('link.course.tcp', over, 1500, 20, 'the same link without a course'),
  ]
  await over.ours.close()
  await over.reference.close()
  await course.end()
  return figures
}

const NO_FACTS: CourseFacts = {
  program: 'figure',
  bench: { file: 'none', sha256: '', text: '' },
  drivers: [],
  procedures: [],
  plans: [],
  ruleCards: [],
  wrongFiles: [],
  addresses: {},
  setPage: null,
  openWithinMs: 0,
  writesJobs: false,
}

async function serialFigure(instrument: ChildProcess): Promise<Figure> {
  const pairs = [await openPty(), await openPty()] as const
  for (const pair of pairs) {
    instrument.send(pair.theirs)
    await told(instrument, pair.theirs)
  }
  const over = {
    ours: await linkSide(`serial:${pairs[0].ours}?baud=115200`),
    reference: await bareSerial(pairs[1].ours),
  }
  const figure = await rateFigure(
    'link.serial',
    over,
    400,
    10,
    'bare serialport with the same line parser on the same kind of pseudo-terminal',
  )
  await over.ours.close()
  await over.reference.close()
  for (const pair of pairs) await pair.unplug()
  return figure
}

interface Both {
  readonly ours: Side
  readonly reference: Side
}

/**
 * p99 on each side in blocks of 100, and of those the blocks in which both together were quickest: what else the computer does
 * decides the others, and hits either side.
 */
async function guardFigure(
  over: Both,
  name = 'link.guard',
  added = 'what the link adds to the p99 of a bare socket',
): Promise<Figure> {
  const blocks: { readonly bareMs: number; readonly addedMs: number }[] = []
  for (let block = -1; block < BLOCKS; block++) {
    const ours: number[] = []
    const reference: number[] = []
    for (let round = 0; round < IN_BLOCK; round++) {
      for (const [side, tookMs] of turnAbout(round, [over.ours, ours] as const, [over.reference, reference] as const)) {
        const beganMs = performance.now()
        await side.ask(SLOW_READ, 1)
        tookMs.push(performance.now() - beganMs)
      }
    }
    if (block < 0) continue // warming up
    const bareMs = quantile(reference, 0.99)
    blocks.push({ bareMs, addedMs: quantile(ours, 0.99) - bareMs })
  }
  const quiet = blocks
    .toSorted((one, other) => 2 * one.bareMs + one.addedMs - (2 * other.bareMs + other.addedMs))
    .slice(0, QUIET_BLOCKS)
  const reference = middle(quiet.map((block) => block.bareMs))
  const ours = middle(quiet.map((block) => block.addedMs))
  return {
    name,
    ours: rounded(ours),
    reference: rounded(reference),
    ratio: rounded((reference + ours) / reference),
    unit: 'ms',
    against: `ours is ${added} (reference) at a ${SLOW_MS} ms simulated reply; middle of the ${QUIET_BLOCKS} quietest of ${BLOCKS} blocks of ${IN_BLOCK} each in turn`,
  }
}

/** Exchanges a second on both sides, in short bursts by turns, so that whatever else the computer does hits both. */
async function rateFigure(name: string, over: Both, bursts: number, burst: number, against: string): Promise<Figure> {
  const ours: number[] = []
  const reference: number[] = []
  for (let round = -10; round < bursts; round++) {
    for (const [side, perSecond] of turnAbout(
      round,
      [over.ours, ours] as const,
      [over.reference, reference] as const,
    )) {
      const beganMs = performance.now()
      await side.ask(READ, burst)
      if (round >= 0) perSecond.push((burst * 1000) / (performance.now() - beganMs))
    }
  }
  const ourRate = middle(ours)
  const referenceRate = middle(reference)
  return {
    name,
    ours: Math.round(ourRate),
    reference: Math.round(referenceRate),
    ratio: rounded(ourRate / referenceRate),
    unit: 'readings/s',
    against: `${against}, median of ${bursts} bursts of ${burst} each in turn`,
  }
}

function turnAbout<T>(round: number, one: T, other: T): readonly [T, T] {
  return round % 2 === 0 ? [one, other] : [other, one]
}

function quantile(values: readonly number[], part: number): number {
  const inOrder = values.toSorted((a, b) => a - b)
  return inOrder[Math.min(inOrder.length - 1, Math.floor(part * inOrder.length))] ?? Number.NaN
}

function middle(values: readonly number[]): number {
  return quantile(values, 0.5)
}

function rounded(value: number): number {
  return Number(value.toFixed(3))
}

const MANNERS: LinkManners = {
  sendEnd: '\n',
  replyEnd: '\n',
  gapMs: 0,
  settleMs: 0,
  quietMs: 50,
  longestMessage: 200,
  resync: 'sentinel',
  identityAsk: '*IDN?',
  clear: '*CLS',
}

async function linkSide(address: string, course: Partial<LinkOptions['deps']> = {}): Promise<Side> {
  const { signal } = new AbortController()
  const wait = { ms: 2000, signal }
  const deps = { clock: realClock(), log: silentLog, ...course }
  const link = await openLink({ who: `figure (${address})`, address, manners: MANNERS, deps, wait })
  return {
    ask: async (question, times) => {
      for (let asked = 0; asked < times; asked++) {
        const { text } = await link.ask(question, wait)
        if (readNumber(text).value !== 13.8012) throw new Error(`the link gave ${text}`)
      }
    },
    close: () => link.close(),
  }
}

async function bareSocket(port: number): Promise<Side> {
  const socket = connect({ host: '127.0.0.1', port, noDelay: true })
  await once(socket, 'connect')
  let held = ''
  let resolve: (text: string) => void = () => {}
  socket.on('data', (chunk: Buffer) => {
    held += chunk.toString('latin1')
    if (!held.endsWith('\n')) return
    const text = held.slice(0, -1)
    held = ''
    resolve(text)
  })
  return {
    ask: async (question, times) => {
      for (let asked = 0; asked < times; asked++) {
        const text = await new Promise<string>((answered) => {
          resolve = answered
          socket.write(`${question}\n`, 'latin1')
        })
        if (text !== REPLY) throw new Error(`the bare socket gave ${text}`)
      }
    },
    close: async () => {
      socket.end()
      await once(socket, 'close')
    },
  }
}

async function bareSerial(path: string): Promise<Side> {
  const serial = new SerialPort({ path, baudRate: 115200, autoOpen: false })
  await new Promise<void>((resolve, reject) => serial.open((error) => (error ? reject(error) : resolve())))
  const parser = serial.pipe(new ReadlineParser({ delimiter: '\n', encoding: 'latin1' }))
  let resolve: (text: string) => void = () => {}
  parser.on('data', (text: string) => resolve(text))
  return {
    ask: async (question, times) => {
      for (let asked = 0; asked < times; asked++) {
        const text = await new Promise<string>((answered) => {
          resolve = answered
          serial.write(`${question}\n`, 'latin1')
        })
        if (text !== REPLY) throw new Error(`bare serialport gave ${text}`)
      }
    },
    close: () => new Promise((closed) => serial.close(() => closed())),
  }
}

/** The child says what it has opened, and for "tcp" on which port. */
function told(instrument: ChildProcess, opened: string): Promise<number> {
  return new Promise((resolve, reject) => {
    const hear = (message: unknown) => {
      if (!Array.isArray(message) || message[0] !== opened) return
      instrument.off('message', hear)
      resolve(Number(message[1]))
    }
    instrument.on('message', hear)
    instrument.once('exit', (code) => reject(new Error(`the instrument process ended with ${code}`)))
  })
}

/** The other end: a process that answers lines on a socket and on every serial port it is sent the name of. */
function answerAsInstrument(): void {
  const server = createServer({ noDelay: true }, (socket: Socket) => {
    socket.on(
      'data',
      answerer((text) => void socket.write(text, 'latin1')),
    )
    socket.on('error', () => socket.destroy())
  })
  server.listen(0, '127.0.0.1', () => {
    const at = server.address()
    process.send?.(['tcp', at !== null && typeof at === 'object' ? at.port : 0])
  })
  process.on('message', (path: string) => {
    const serial = new SerialPort({ path, baudRate: 115200, autoOpen: false })
    serial.on(
      'data',
      answerer((text) => void serial.write(text, 'latin1')),
    )
    serial.on('error', () => {})
    serial.open((error) => process.send?.([path, error ? 1 : 0]))
  })
  process.on('disconnect', () => process.exit(0))
}

function answerer(write: (text: string) => void): (chunk: Buffer) => void {
  let held = ''
  let enabled = '0'
  const answer = (line: string) => {
    if (line === READ) write(`${REPLY}\n`)
    else if (line === SLOW_READ) afterExactly(SLOW_MS, () => write(`${REPLY}\n`))
    else if (line === '*ESE?') write(`${enabled}\n`)
    else if (line.startsWith('*ESE ')) enabled = line.slice(5)
  }
  return (chunk) => {
    const lines = (held + chunk.toString('latin1')).split('\n')
    held = lines.pop() ?? ''
    for (const line of lines) answer(line)
  }
}

/** A timer is up to 1 ms late; the rest is spent looking at the clock, so that this end adds no noise of its own. */
function afterExactly(ms: number, act: () => void): void {
  const dueMs = performance.now() + ms
  setTimeout(() => {
    while (performance.now() < dueMs);
    act()
  }, ms - 2)
}

if (process.argv[2] === ANSWERER) answerAsInstrument()
