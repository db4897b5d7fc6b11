import type { Readable, Writable } from 'node:stream'
import { BenchError, happenedOf, wholeWords, wordsOf } from '../../fault/bench-error.ts'
import type { SupplyPort } from '../../instrument/supply-port.ts'
import { parseAtDoor } from '../../schema/door/door.ts'
import { type FromKeeper, type KeeperStart, ToKeeper } from '../../schema/messages/keeper-message.ts'
import { isSimulated, readIdentity } from '../../scpi/identity.ts'
import type { Clock } from '../../system/clock.ts'
import type { Log } from '../../system/log.ts'
import type { Wait } from '../../transport/link.ts'
import { said, type Words } from '../../words/said/said.ts'
import { readLines } from '../line/keeper-lines.ts'
import type { Lease, Taking } from '../line/lease.ts'
import type { StandbyLine } from '../line/standby-line.ts'
import { rulesFor } from '../rules/keeper-state.ts'
import { type Keeper, runKeeper } from './keeper.ts'
import { openNotes } from './keeper-notes.ts'
import { codeOf } from './supply-seat.ts'

/** What the process gives its keeper. */
export interface ProcessNeeds {
  readonly start: KeeperStart
  readonly pid: number
  readonly clock: Clock
  /** ms, on the clock's scale, of a clock that runs on while the computer sleeps. */
  readonly bootMs: () => number
  readonly log: Log
  /** `provedIdentity`: who was found at the address in this run; off may go out before anything is asked. */
  readonly openSupply: (wait: Wait, provedIdentity?: string) => Promise<SupplyPort>
  /** Requests, a line each; its end means: safe, then the end. */
  readonly requests: Readable
  /** Answers, a line each. */
  readonly answers: Writable
  /** Takes the right to hold the supply; left out, nobody else is asked. */
  readonly takeLease?: () => Taking
  /** The way to the standby; left out, none is asked for. */
  readonly standby?: StandbyLine
  /** Aborted by SIGTERM, SIGINT and the like, with the reason in words. */
  readonly stop: AbortSignal
}

/** How long the supply's link is tried before the opening is given up; longer when there is nothing to do but to make it safe. */
const OPEN_TRIES_MS = 2000
const SWEEP_TRIES_MS = 10_000
const OPEN_MS = 4000
const OPEN_PAUSE_MS = 250
/** Unread answers, bytes: above this, states are left out; a service that stands still reads nothing. */
const UNREAD_BYTES = 64 * 1024

/** Runs a keeper between two streams. Resolves with the exit code: 0 the output is off, 1 not proved, 2 the supply was never reached. */
export async function serveKeeper(needs: ProcessNeeds): Promise<0 | 1 | 2> {
  const { start, clock, log, answers, standby } = needs
  const waiting: ToKeeper[] = []
  let keeper: Keeper | null = null
  let leaving: Words | null = null
  const leave = (why: Words) => {
    leaving ??= why
    keeper?.leave(why)
  }
  const say = (message: FromKeeper) => {
    if (message.kind === 'state' && answers.writableLength > UNREAD_BYTES) return
    if (answers.writable) answers.write(`${JSON.stringify(message)}\n`)
  }
  answers.on('error', () => leave(said('keeper.service-gone')))
  readLines(
    needs.requests,
    (line) => {
      const request = requestIn(line, say, log)
      if (!request) return
      if (keeper) keeper.hear(request)
      else waiting.push(request)
    },
    () => leave(said('keeper.pipe-closed')),
  )
  if (needs.stop.aborted) leave(happenedOf(needs.stop.reason))
  needs.stop.addEventListener('abort', () => leave(happenedOf(needs.stop.reason)), { once: true })

  let port: SupplyPort
  let lease: Lease | null = null
  try {
    lease = await leaseInTime(needs)
    port = await openPatiently(needs, () => leaving !== null)
  } catch (error) {
    lease?.giveBack()
    await standby?.leave()
    const code = codeOf(error) || 'KEEPER_UNREADABLE'
    log.error({ code }, wordsOf(error))
    say({ kind: 'refused', id: 0, code, words: happenedOf(error) })
    return 2
  }
  say({ kind: 'hello', identity: port.identity, simulated: isSimulated(readIdentity(port.identity)), pid: needs.pid })
  standby?.proved(port.identity)
  const notes = openNotes(start.dataFolder, clock, log)
  keeper = runKeeper({
    port,
    reopen: (wait) => needs.openSupply(wait, port.identity),
    crowbarVolts: start.crowbarVolts,
    rules: {
      ...rulesFor(start.who, start.ceilingVolts, start.ceilingAmps, start.pace.times),
      needsStandby: standby !== undefined,
    },
    against: () => (lease === null || lease.isOurs() ? null : said('keeper.held-elsewhere')),
    clock,
    bootMs: needs.bootMs,
    say,
    note: notes.note,
    log,
  })
  standby?.onPresence(keeper.standby)
  for (const request of waiting) keeper.hear(request)
  if (leaving !== null) keeper.leave(leaving)
  const { proved } = await keeper.ended
  await notes.written()
  lease?.giveBack()
  await (proved ? standby?.leave() : standby?.close())
  return proved ? 0 : 1
}

/** Who holds the supply is about to give it back, or says no in words. Throws TRANSPORT_BUSY. */
async function leaseInTime(needs: ProcessNeeds): Promise<Lease | null> {
  const { clock, start, takeLease } = needs
  if (!takeLease) return null
  const beganMs = clock.nowMs()
  for (;;) {
    const taking = takeLease()
    if ('lease' in taking) return taking.lease
    const { pid, role, who } = taking.heldBy
    const triesMs = role === 'standby' ? SWEEP_TRIES_MS : OPEN_TRIES_MS
    if (clock.nowMs() - beganMs >= triesMs * start.pace.times) {
      const held =
        role === 'standby' ? said('keeper.held-by-standby', { pid, who }) : said('keeper.held-by-other', { pid, who })
      throw new BenchError('TRANSPORT_BUSY', start.who, held)
    }
    await clock.sleepUntil(clock.nowMs() + OPEN_PAUSE_MS, new AbortController().signal)
  }
}

/** The last keeper may still hold the link: tried again for a while. */
async function openPatiently(needs: ProcessNeeds, leaving: () => boolean): Promise<SupplyPort> {
  const { clock } = needs
  const never = new AbortController().signal // an opening has its own deadline; even an ending keeper needs the link
  const beganMs = clock.nowMs()
  for (;;) {
    try {
      return await needs.openSupply({ ms: OPEN_MS, signal: never })
    } catch (error) {
      const triesMs = leaving() ? SWEEP_TRIES_MS : OPEN_TRIES_MS
      if (clock.nowMs() - beganMs >= triesMs * needs.start.pace.times || !codeOf(error).startsWith('TRANSPORT_'))
        throw error
      await clock.sleepUntil(clock.nowMs() + OPEN_PAUSE_MS, never)
    }
  }
}

function requestIn(line: string, say: (message: FromKeeper) => void, log: Log): ToKeeper | null {
  try {
    return parseAtDoor(ToKeeper, JSON.parse(line), 'keeper')
  } catch (error) {
    log.error({ line: line.slice(0, 200) }, wordsOf(error))
    const id = /"id":(\d+)/.exec(line)?.[1]
    if (id !== undefined) say({ kind: 'refused', id: Number(id), code: 'SCHEMA_REJECTED', words: wholeWords(error) })
    return null
  }
}
