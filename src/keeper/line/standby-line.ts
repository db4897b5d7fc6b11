import { createServer, type Socket } from 'node:net'
import { wordsOf } from '../../fault/bench-error.ts'
import { parseAtDoor } from '../../schema/door/door.ts'
import { type KeeperToStandby, StandbyToKeeper } from '../../schema/messages/standby-message.ts'
import type { Clock } from '../../system/clock.ts'
import { within } from '../../system/deadline.ts'
import type { Log } from '../../system/log.ts'
import { countSilence, STANDBY } from '../rules/silence.ts'
import { readLines } from './keeper-lines.ts'

/** The keeper's end of the way to its standby. */
export interface StandbyLine {
  /** The supply's identity reply, from now on told to the standby. */
  proved(identity: string): void
  /** Tells now and from now on whether a standby is heard. */
  onPresence(listener: (present: boolean) => void): void
  /** Says that the keeper leaves in order, then closes. */
  leave(): Promise<void>
  /** Closes without a word: the standby takes over. */
  close(): Promise<void>
}

const UNREAD_BYTES = 16 * 1024
const GOODBYE_MS = 300

/** Listens at `path` for a standby. A place that cannot be listened at is logged: then there is no standby. `factor`: clock ms per real ms. */
export function listenForStandby(about: {
  readonly path: string
  readonly factor: number
  readonly clock: Clock
  readonly log: Log
}): StandbyLine {
  const { path, factor, clock, log } = about
  const sockets = new Set<Socket>()
  const silence = countSilence(clock.nowMs(), factor)
  const over = new AbortController()
  let identity = ''
  let present = false
  let ear: (present: boolean) => void = () => {}

  const turn = (now: boolean) => {
    if (now === present) return
    present = now
    if (!now) log.warn({}, 'no standby keeper is heard')
    ear(present)
  }
  const beat = (socket: Socket) => say(socket, { kind: 'beat', identity, hears: present })
  const hear = (socket: Socket, line: string) => {
    try {
      parseAtDoor(StandbyToKeeper, JSON.parse(line), 'keeper')
    } catch (error) {
      return log.error({ line: line.slice(0, 200) }, wordsOf(error))
    }
    silence.heard(clock.nowMs())
    if (present) return
    turn(true)
    beat(socket)
  }
  const server = createServer((socket) => {
    sockets.add(socket)
    socket.on('error', () => {}) // its end follows
    readLines(
      socket,
      (line) => hear(socket, line),
      () => {
        sockets.delete(socket)
        socket.destroy()
        if (sockets.size === 0) turn(false)
      },
    )
    beat(socket)
  })
  server.on('error', (error) => log.error({ path }, `no way to a standby keeper: ${error.message}`))
  server.listen(path)

  const work = async () => {
    for (let ticks = 0; ; ticks++) {
      if (silence.tick(clock.nowMs()) >= STANDBY.silentMs * factor) turn(false)
      if (ticks % BEAT_TICKS === 0) for (const socket of sockets) beat(socket)
      await clock.sleepUntil(clock.nowMs() + STANDBY.tickMs * factor, over.signal)
    }
  }
  work().catch(() => {}) // ends with `over`

  const close = async () => {
    over.abort(CLOSED)
    server.close()
    for (const socket of sockets) socket.destroy()
  }
  return {
    proved: (text) => {
      identity = text
      for (const socket of sockets) beat(socket)
    },
    onPresence: (listener) => {
      ear = listener
      listener(present)
    },
    leave: async () => {
      over.abort(CLOSED)
      // A standby that stands still reads nothing and is not waited for.
      await within(clock, GOODBYE_MS * factor, sayLeaving(sockets), () => {})
      await close()
    },
    close,
  }
}

function say(socket: Socket, word: KeeperToStandby): void {
  if (socket.writableLength > UNREAD_BYTES) socket.destroy()
  else if (socket.writable) socket.write(`${JSON.stringify(word)}\n`)
}

/** The last word to everybody; resolves when it is on its way, or nobody is there any more. */
async function sayLeaving(sockets: ReadonlySet<Socket>): Promise<void> {
  const flushed = [...sockets].map(
    (socket) =>
      new Promise<void>((resolve) => {
        socket.end(`${JSON.stringify({ kind: 'leaving' } satisfies KeeperToStandby)}\n`, resolve)
        socket.once('close', resolve)
      }),
  )
  await Promise.all(flushed)
}

const CLOSED = new Error('closed')
const BEAT_TICKS = STANDBY.beatMs / STANDBY.tickMs
