import { uptime } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { wordsOf } from './fault/bench-error.ts'
import { loadDriver, loadDriverFile } from './instrument/load-driver.ts'
import { openSupplyPort } from './instrument/supply.ts'
import { serveKeeper } from './keeper/keeper-process.ts'
import type { BenchEntry } from './schema/bench-file.ts'
import { parseAtDoor } from './schema/door.ts'
import { KeeperStart } from './schema/keeper-message.ts'
import { realClock } from './system/clock.ts'
import type { Log } from './system/log.ts'

/**
 * The keeper as a process: `node keeper-main.cjs JSON`, requests on standard input, answers on standard output, a line each.
 * Standard input closing, SIGTERM, SIGINT, SIGHUP or an exception make the supply safe before it ends. SIGPIPE is ignored by Node.
 */
async function main(): Promise<number> {
  const start = parseAtDoor(KeeperStart, JSON.parse(process.argv[2] ?? 'null'), 'keeper')
  const clock = realClock(start.pace)
  const log = plainLog()
  const stop = new AbortController()
  for (const name of ['SIGTERM', 'SIGINT', 'SIGHUP'] as const)
    process.on(name, () => stop.abort(new Error(`the keeper was ended by ${name}`)))
  const broke = (error: unknown) => {
    log.error({ error: error instanceof Error ? error.stack : String(error) }, 'the keeper broke')
    stop.abort(new Error(`the keeper broke: ${wordsOf(error)}`))
  }
  process.on('uncaughtException', broke)
  process.on('unhandledRejection', broke)

  const isPath = /[/\\]|\.yaml$/.test(start.driver)
  const driver = isPath ? loadDriverFile(start.driver) : loadDriver(DRIVERS, start.driver)
  const code = await serveKeeper({
    start,
    pid: process.pid,
    clock,
    bootMs: () => uptime() * 1000 * start.pace.times,
    log,
    openSupply: (wait, provedBefore) => openSupplyPort(entryOf(start), driver, { clock, log }, wait, provedBefore),
    requests: process.stdin,
    answers: process.stdout,
    stop: stop.signal,
  })
  const flushed = new Promise<void>((resolve) => process.stdout.end(resolve))
  // A service that stands still reads nothing: its answers are not waited for.
  await Promise.race([flushed, clock.sleepUntil(clock.nowMs() + FLUSH_MS, new AbortController().signal)])
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
