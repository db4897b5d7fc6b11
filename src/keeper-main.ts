import { constants, setPriority, uptime } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { BenchError, happenedOf, wordsOf } from './fault/bench-error.ts'
import { loadDriver, loadDriverFile } from './instrument/load-driver.ts'
import { openSupplyPort } from './instrument/supply.ts'
import { serveKeeper } from './keeper/holder/keeper-process.ts'
import { leasePath, type Taking, takeLease } from './keeper/line/lease.ts'
import { openRunFolder, usualRunFolder } from './keeper/line/run-folder.ts'
import { listenForStandby } from './keeper/line/standby-line.ts'
import { realFactor } from './keeper/rules/silence.ts'
import { serveStandby } from './keeper/standby/standby-process.ts'
import { parseAtDoor } from './schema/door/door.ts'
import type { BenchEntry } from './schema/files/bench-file.ts'
import { KeeperStart } from './schema/messages/keeper-message.ts'
import { StandbyStart } from './schema/messages/standby-message.ts'
import { type Clock, realClock } from './system/clock.ts'
import { within } from './system/deadline.ts'
import type { Log } from './system/log.ts'
import type { Wait } from './transport/link.ts'
import { readAddress } from './transport/port/address.ts'
import { said, type Words } from './words/said/said.ts'

/**
 * The keeper as a process: `node keeper-main.cjs JSON`, or with a second JSON its standby. Requests on standard input, answers on standard output, a line each.
 * Standard input closing, SIGTERM, SIGINT, SIGHUP or an exception make the supply safe before it ends. SIGPIPE is ignored by Node.
 */
async function main(): Promise<number> {
  const start = parseAtDoor(KeeperStart, JSON.parse(process.argv[2] ?? 'null'), 'keeper')
  const clock = realClock(start.pace)
  const log = plainLog()
  const stop = new AbortController()
  // A standby has no answer to these: it ends when its keeper has left in order, or when it has made safe.
  for (const name of ['SIGTERM', 'SIGINT', 'SIGHUP'] as const)
    process.on(name, () => stop.abort(gone(start, said('keeper.ended-by', { signal: name }))))
  const broke = (error: unknown) => {
    log.error({ error: error instanceof Error ? error.stack : String(error) }, 'the keeper broke')
    stop.abort(gone(start, said('keeper.broke', { why: happenedOf(error) })))
  }
  process.on('uncaughtException', broke)
  process.on('unhandledRejection', broke)

  raisePriority()
  const isPath = /[/\\]|\.yaml$/.test(start.driver)
  const driver = isPath ? loadDriverFile(start.driver) : loadDriver(DRIVERS, start.driver)
  const common = {
    clock,
    bootMs: () => uptime() * 1000 * start.pace.times,
    log,
    // An identity that was proved here in this run: off is written before anything is asked.
    openSupply: (wait: Wait, provedIdentity = '') =>
      openSupplyPort(entryOf(start), driver, { clock, log }, wait, provedIdentity !== ''),
    requests: process.stdin,
    answers: process.stdout,
  }
  const own = process.argv[3] === undefined ? null : parseAtDoor(StandbyStart, JSON.parse(process.argv[3]), 'standby')
  if (own !== null) {
    await readAddress(start.address).ahead()
    return flushed(await serveStandby({ start, own, ...common }), clock)
  }
  const factor = realFactor(start.pace.times)
  const code = await serveKeeper({
    start,
    pid: process.pid,
    takeLease: leaseTaker(start),
    ...(start.socket === undefined ? {} : { standby: listenForStandby({ path: start.socket, factor, clock, log }) }),
    ...common,
    stop: stop.signal,
  })
  return flushed(code, clock)
}

/** Why the keeper leaves, for whoever reads it of the signal's reason. */
function gone(start: KeeperStart, why: Words): BenchError {
  return new BenchError('KEEPER_GONE', start.who, why)
}

/** Opens the lease's folder once; what is wrong with it is told like any other reason not to open the supply. */
function leaseTaker(start: KeeperStart): () => Taking {
  return () => {
    const folder = openRunFolder(start.runFolder ?? usualRunFolder())
    return takeLease(leasePath(folder, start.address), { role: 'keeper', who: start.who })
  }
}

/** Both switch off on a computer that is at its limit too. Where that is not permitted they run like all others. */
function raisePriority(): void {
  try {
    setPriority(constants.priority.PRIORITY_HIGH)
  } catch {
    // not permitted here
  }
}

async function flushed(code: number, clock: Clock): Promise<number> {
  const written = new Promise<void>((resolve) => process.stdout.end(resolve))
  // A service that stands still reads nothing: its answers are not waited for.
  await within(clock, FLUSH_MS, written, () => {})
  return code
}

const DRIVERS = join(fileURLToPath(import.meta.url), '..', '..', 'drivers')
const FLUSH_MS = 500
const UNREAD_BYTES = 64 * 1024

/** Warnings and errors as JSON lines on standard error, without the logger's start-up time. */
function plainLog(): Log {
  process.stderr.on('error', () => {}) // whoever read it is gone
  const line = (level: string) => (facts: object, words: string) => {
    if (process.stderr.writableLength < UNREAD_BYTES)
      process.stderr.write(`${JSON.stringify({ level, ...facts, msg: words })}\n`)
  }
  return { info: () => {}, warn: line('warn'), error: line('error') }
}

/** The bench file's entry, as far as it matters for opening the supply. */
function entryOf(start: KeeperStart): BenchEntry {
  return {
    name: start.who.split(' ')[0] ?? start.who,
    driver: start.driver,
    at: start.address,
    quantity: null,
    measures: null,
    role: null,
    makes: null,
    answersAs: start.answersAs ?? null,
    pathLossDb: null,
    pathLossUncertaintyDb: null,
    vswr: null,
    calibrationDue: null,
    certificate: null,
    accuracy: null,
    inputOhms: null,
    inputIsolated: 'unknown',
    limits: { ceilingVolts: start.ceilingVolts, ceilingAmps: start.ceilingAmps },
    crowbar: null,
    supplyLeadOhms: 0,
  }
}

main().then(
  (code) => process.exit(code),
  (error) => {
    process.stderr.write(`${wordsOf(error)}\n`)
    process.exit(2)
  },
)
