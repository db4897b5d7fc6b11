import { type ChildProcess, spawn } from 'node:child_process'
import { fileURLToPath } from 'node:url'
import { wordsOf } from '../../fault/bench-error.ts'
import { parseAtDoor } from '../../schema/door/door.ts'
import { FromKeeper, type KeeperStart, type ToKeeper } from '../../schema/messages/keeper-message.ts'
import { FromStandby, type StandbyStart } from '../../schema/messages/standby-message.ts'
import type { Log } from '../../system/log.ts'
import { said, type Words } from '../../words/said/said.ts'
import { readLines } from '../line/keeper-lines.ts'
import type { StandbyPipe } from '../standby/standby-guard.ts'

/** What comes out of a keeper's pipe. */
export interface KeeperEar {
  message(message: FromKeeper): void
  /** The keeper is gone, and how it went; said once. */
  gone(how: Words): void
}

/** The way to a keeper, wherever it works. */
export interface KeeperPipe {
  say(message: ToKeeper): void
  /** One listener, set before anything is said. */
  listen(ear: KeeperEar): void
  /** Closes this end: the keeper makes safe and ends. */
  end(): void
  /** Ends a keeper that hangs, by force. */
  kill(): void
  /** Resolves when the keeper is gone. */
  readonly gone: Promise<void>
}

const MAIN = fileURLToPath(new URL('../../keeper-main.cjs', import.meta.url))

/**
 * Starts a keeper process. It has a session of its own, so that Ctrl-C at the terminal reaches it by its closing pipe only,
 * and it outlives this process for as long as it takes to make safe.
 */
export function spawnKeeper(start: KeeperStart, log: Log): KeeperPipe & { readonly pid: number | undefined } {
  const child = spawn(process.execPath, [MAIN, JSON.stringify(start)], {
    stdio: ['pipe', 'pipe', 'pipe'],
    detached: true,
  })
  child.stdin.on('error', () => {}) // a keeper that is gone is told by its end
  let ear: KeeperEar | null = null
  readLines(
    child.stdout,
    (line) => {
      const message = messageIn(line, start.who, log)
      if (message) ear?.message(message)
    },
    () => {},
  )
  readLines(
    child.stderr,
    (line) => log.warn({ keeper: child.pid }, line),
    () => {},
  )
  const gone = new Promise<void>((resolve) => {
    const end = (how: Words) => {
      ear?.gone(how)
      ear = null
      resolve()
    }
    child.once('error', (error) => end(said('keeper.not-started', { why: error.message })))
    child.once('close', () => end(howEnded(child)))
  })
  return {
    say: (message) => {
      if (child.stdin.writable) child.stdin.write(`${JSON.stringify(message)}\n`)
    },
    listen: (listener) => {
      ear = listener
    },
    end: () => child.stdin.end(),
    kill: () => child.kill('SIGKILL'),
    pid: child.pid,
    gone,
  }
}

/** Starts a standby for the keeper `about.keeperPid`. It has a session of its own and outlives this process. */
export function spawnStandby(start: KeeperStart, about: StandbyStart, log: Log): StandbyPipe {
  const child = spawn(process.execPath, [MAIN, JSON.stringify(start), JSON.stringify(about)], {
    stdio: ['pipe', 'pipe', 'pipe'],
    detached: true,
  })
  child.stdin.on('error', () => {}) // a standby that is gone is told by its end
  readLines(
    child.stderr,
    (line) => log.warn({ standby: child.pid }, line),
    () => {},
  )
  return {
    say: (word) => {
      if (child.stdin.writable) child.stdin.write(`${JSON.stringify(word)}\n`)
    },
    listen: (ear) => {
      readLines(
        child.stdout,
        (line) => {
          const word = standbyWordIn(line, log)
          if (word) ear.word(word)
        },
        () => {},
      )
      child.once('error', (error) => ear.gone(`it could not be started: ${error.message}`))
      child.once('close', () => ear.gone(`ended by ${child.signalCode ?? child.exitCode}`))
    },
    kill: () => child.kill('SIGKILL'),
  }
}

function standbyWordIn(line: string, log: Log): FromStandby | null {
  try {
    return parseAtDoor(FromStandby, JSON.parse(line), 'standby')
  } catch (error) {
    log.error({ line: line.slice(0, 200) }, `the standby keeper said something strange: ${wordsOf(error)}`)
    return null
  }
}

function howEnded(child: ChildProcess): Words {
  if (child.signalCode !== null) return said('keeper.ended-by', { signal: child.signalCode })
  return child.exitCode === 0 ? said('keeper.ended-off') : said('keeper.ended-with', { exit: child.exitCode ?? '' })
}

function messageIn(line: string, who: string, log: Log): FromKeeper | null {
  try {
    return parseAtDoor(FromKeeper, JSON.parse(line), who)
  } catch (error) {
    log.error({ line: line.slice(0, 200) }, `the keeper said something strange: ${wordsOf(error)}`)
    return null
  }
}
