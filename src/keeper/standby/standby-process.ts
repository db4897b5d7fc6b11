import { unlinkSync } from 'node:fs'
import { connect } from 'node:net'
import type { Readable, Writable } from 'node:stream'
import { wordsOf } from '../../fault/bench-error.ts'
import type { SupplyPort } from '../../instrument/supply-port.ts'
import { parseAtDoor } from '../../schema/door/door.ts'
import type { KeeperStart } from '../../schema/messages/keeper-message.ts'
import {
  type FromStandby,
  KeeperToStandby,
  type StandbyStart,
  ToStandby,
} from '../../schema/messages/standby-message.ts'
import type { Clock } from '../../system/clock.ts'
import type { Log } from '../../system/log.ts'
import type { Wait } from '../../transport/link.ts'
import { openNotes } from '../holder/keeper-notes.ts'
import { readLines } from '../line/keeper-lines.ts'
import { holderOf, leasePath, takeLease } from '../line/lease.ts'
import { killLife, lifeOf, lives } from '../line/process-life.ts'
import { openRunFolder, usualRunFolder } from '../line/run-folder.ts'
import { rulesFor } from '../rules/keeper-state.ts'
import { realFactor, STANDBY } from '../rules/silence.ts'
import { runStandby, type Standby } from './standby.ts'

/** What the process gives its standby. */
export interface StandbyProcessNeeds {
  readonly start: KeeperStart
  readonly own: StandbyStart
  readonly clock: Clock
  /** ms, on the clock's scale, of a clock that runs on while the computer sleeps. */
  readonly bootMs: () => number
  readonly log: Log
  /** A new connection to the supply; `identity` was proved there by the keeper of this run, "" where it was not. */
  readonly openSupply: (wait: Wait, identity: string) => Promise<SupplyPort>
  /** What the service says, a line each; its end means only that the service is gone. */
  readonly requests: Readable
  readonly answers: Writable
}

const RETRY_MS = 50
const UNREAD_BYTES = 16 * 1024

/** Runs a standby beside its keeper's socket. Resolves with the exit code: 0 proved off or not needed, 1 not proved. */
export async function serveStandby(needs: StandbyProcessNeeds): Promise<0 | 1> {
  const { start, own, clock, log, answers } = needs
  const factor = realFactor(start.pace.times)
  const over = new AbortController()
  const notes = openNotes(start.dataFolder, clock, log)
  const path = leasePath(openRunFolder(start.runFolder ?? usualRunFolder()), start.address)
  answers.on('error', () => {}) // the service is gone, which changes nothing
  const say = (word: FromStandby) => {
    if (answers.writable && answers.writableLength < UNREAD_BYTES) answers.write(`${JSON.stringify(word)}\n`)
  }
  const standby = runStandby({
    rules: rulesFor(start.who, start.ceilingVolts, start.ceilingAmps, start.pace.times),
    factor,
    clock,
    bootMs: needs.bootMs,
    log,
    keeper: keeperAt(own.keeperPid, path),
    takeLease: () => takeLease(path, { role: 'standby', who: start.who }),
    openSupply: needs.openSupply,
    say,
    note: notes.note,
    begin: own.begin,
    identity: own.identity,
  })
  readLines(
    needs.requests,
    (line) => {
      const order = wordIn(ToStandby, line, log)
      if (order) standby.takeOver(order.why)
    },
    () => {},
  )
  if (start.socket !== undefined) hearKeeper(start.socket, standby, { clock, log, factor, say, over: over.signal })
  const beat = async () => {
    for (;;) {
      say({ kind: 'beat' })
      await clock.sleepUntil(clock.nowMs() + STANDBY.beatMs * factor, over.signal)
    }
  }
  beat().catch(() => {}) // ends with `over`
  const end = await standby.ended
  await notes.written()
  over.abort(new Error('the standby has ended'))
  if (start.socket !== undefined && process.platform !== 'win32') remove(start.socket)
  say({ kind: 'ended', ...end })
  return end.proved ? 0 : 1
}

/** The keeper that is watched: no stranger under its number, and nobody who holds the supply by now instead of it, is ever ended. */
function keeperAt(pid: number, path: string) {
  const life = lifeOf(pid)
  const ours = () => {
    const holder = holderOf(path)
    return holder?.pid === pid ? holder : life
  }
  return {
    alive: () => {
      const one = ours()
      return one !== null && lives(one)
    },
    kill: () => {
      const one = ours()
      return one === null ? null : killLife(one)
    },
  }
}

interface Hearing {
  readonly clock: Clock
  readonly log: Log
  readonly factor: number
  readonly say: (word: FromStandby) => void
  readonly over: AbortSignal
}

/** Connects to the keeper, again until it has said something; beats there; hands over what it says. The end of a connection that spoke is the end of the keeper. */
function hearKeeper(path: string, standby: Standby, hearing: Hearing): void {
  const { clock, log, factor, say, over } = hearing
  let watching = false
  const attempt = () => {
    if (over.aborted) return
    const socket = connect(path)
    let spoke = false
    const done = new AbortController()
    const beat = async () => {
      while (socket.writable) {
        if (socket.writableLength < UNREAD_BYTES) socket.write('{"kind":"beat"}\n')
        await clock.sleepUntil(clock.nowMs() + STANDBY.beatMs * factor, done.signal)
      }
    }
    socket.on('connect', () => beat().catch(() => {})) // ends with the connection
    socket.on('error', () => {}) // its end follows
    over.addEventListener('abort', () => socket.destroy(), { once: true })
    readLines(
      socket,
      (line) => {
        const word = wordIn(KeeperToStandby, line, log)
        if (!word) return
        spoke = true
        standby.heard(word)
        if (word.kind === 'beat' && word.hears && !watching) {
          watching = true
          say({ kind: 'watching' })
        }
      },
      () => {
        done.abort(new Error('the keeper is gone'))
        socket.destroy()
        if (spoke) return standby.lost()
        clock.sleepUntil(clock.nowMs() + RETRY_MS * factor, over).then(attempt, () => {})
      },
    )
  }
  attempt()
}

function wordIn<T>(schema: Parameters<typeof parseAtDoor<T>>[0], line: string, log: Log): T | null {
  try {
    return parseAtDoor(schema, JSON.parse(line), 'standby')
  } catch (error) {
    log.error({ line: line.slice(0, 200) }, wordsOf(error))
    return null
  }
}

function remove(path: string): void {
  try {
    unlinkSync(path)
  } catch {
    // the keeper has taken it away itself
  }
}
