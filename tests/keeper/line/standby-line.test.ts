import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { connect, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, test } from 'vitest'
import { listenForStandby, type StandbyLine } from '../../../src/keeper/line/standby-line.ts'
import { silentLog } from '../../../src/system/log.ts'
import { virtualClock } from '../../../src/system/virtual-clock.ts'

let folder = ''
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'line-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

/** A keeper's end on a clock of its own, and whether it hears a standby. */
function listening(path = join(folder, 'a.sock')) {
  const clock = virtualClock()
  const line = listenForStandby({ path, factor: 1, clock, log: silentLog })
  const presence: boolean[] = []
  line.onPresence((present) => presence.push(present))
  return { clock, line, path, presence }
}

/** A standby's end: what it was told, a JSON object a line. */
async function dialled(path: string) {
  const socket = await until(() => tryConnect(path))
  let text = ''
  let isOver = false
  socket.on('data', (bytes) => {
    text += bytes
  })
  socket.on('close', () => {
    isOver = true
  })
  const told = (): Record<string, unknown>[] =>
    text
      .split('\n')
      .filter(Boolean)
      .map((one) => JSON.parse(one))
  return { socket, told, beat: () => socket.write('{"kind":"beat"}\n'), isOver: () => isOver }
}

function tryConnect(path: string): Promise<Socket | undefined> {
  return new Promise((resolve) => {
    const socket = connect(path)
    socket.once('connect', () => resolve(socket))
    socket.on('error', () => resolve(undefined)) // it does not listen yet
  })
}

/** What comes through a socket comes in real time. */
async function until<T>(look: () => Promise<T | undefined> | T | undefined): Promise<T> {
  const endMs = performance.now() + 10_000
  for (;;) {
    const found = await look()
    if (found !== undefined && found !== false) return found
    if (performance.now() > endMs) throw new Error('not within 10 s')
    await new Promise((resolve) => setTimeout(resolve, 2))
  }
}

async function closed(line: StandbyLine, ...sockets: Socket[]): Promise<void> {
  await line.close()
  for (const socket of sockets) socket.destroy()
}

test('nobody is heard at first; a beat of a standby makes it present, and it is told so at once', async () => {
  const { line, path, presence } = listening()
  const one = await dialled(path)
  await until(() => one.told().length > 0)
  expect(one.told()).toEqual([{ kind: 'beat', identity: '', hears: false }])
  expect(presence).toEqual([false])
  one.beat()
  await until(() => one.told().length > 1)
  expect(one.told().at(-1)).toEqual({ kind: 'beat', identity: '', hears: true })
  expect(presence).toEqual([false, true])
  await closed(line, one.socket)
})

test('it is told of the supply at once when that is proved, and each half second from then on', async () => {
  const { clock, line, path } = listening()
  const one = await dialled(path)
  await until(() => one.told().length > 0)
  line.proved('A SUPPLY')
  await until(() => one.told().length > 1)
  expect(one.told().at(-1)).toMatchObject({ identity: 'A SUPPLY' })
  await clock.advance(2000)
  await until(() => one.told().length >= 6)
  expect(one.told().length).toBeLessThanOrEqual(7)
  await closed(line, one.socket)
})

test('silent for 1.8 s: not present any more, until it beats again', async () => {
  const { clock, line, path, presence } = listening()
  const one = await dialled(path)
  one.beat()
  await until(() => presence.length === 2)
  await clock.advance(1700)
  expect(presence).toEqual([false, true])
  await clock.advance(300)
  expect(presence).toEqual([false, true, false])
  one.beat()
  await until(() => presence.length === 4)
  expect(presence.at(-1)).toBe(true)
  await closed(line, one.socket)
})

test('its connection ends: not present at once; while another one is connected it stays', async () => {
  const { line, path, presence } = listening()
  const one = await dialled(path)
  const other = await dialled(path)
  one.beat()
  await until(() => presence.length === 2)
  one.socket.destroy()
  await until(() => one.isOver())
  await new Promise((resolve) => setTimeout(resolve, 20))
  expect(presence).toEqual([false, true])
  other.socket.destroy()
  await until(() => presence.length === 3)
  expect(presence.at(-1)).toBe(false)
  await closed(line)
})

test('a line that is no beat makes nobody present', async () => {
  const { line, path, presence } = listening()
  const one = await dialled(path)
  one.socket.write('hello\n{"kind":"boost"}\n')
  await new Promise((resolve) => setTimeout(resolve, 20))
  expect(presence).toEqual([false])
  one.beat()
  await until(() => presence.length === 2)
  await closed(line, one.socket)
})

test('left in order: the last word is "leaving", the connection and the address are gone', async () => {
  const { line, path } = listening()
  const one = await dialled(path)
  await until(() => one.told().length > 0)
  await line.leave()
  await until(() => one.isOver())
  expect(one.told().at(-1)).toEqual({ kind: 'leaving' })
  expect(existsSync(path)).toBe(false)
})

test('closed without a word: the standby is told nothing, and takes over', async () => {
  const { line, path } = listening()
  const one = await dialled(path)
  await until(() => one.told().length > 0)
  await line.close()
  await until(() => one.isOver())
  expect(one.told().filter(({ kind }) => kind === 'leaving')).toEqual([])
})

test('an address that cannot be listened at is no reason to end: no standby is heard', async () => {
  const path = join(folder, 'no', 'folder', 'a.sock')
  const { line, presence, clock } = listening(path)
  await clock.advance(3000)
  expect(presence).toEqual([false])
  await line.close()
})
