import { fstatSync } from 'node:fs'
import { createInterface } from 'node:readline'
import { parseArgs } from 'node:util'
import { wordsOf } from '../src/fault/bench-error.ts'
import { QUANTITY_NAMES } from '../src/quantity/quantity.ts'
import { realClock } from '../src/system/clock.ts'
import { openLog } from '../src/system/log.ts'
import { seededRng } from '../src/system/rng.ts'
import { runHandClient } from './hand/hand-client.ts'
import { type BenchKind, type BenchParts, isInstrumentName, openSimulatedBench } from './simulated-bench.ts'

/**
 * The simulated bench as a process: prints `NAME ADDRESS` a line, the set's page, then `ready`; with --json one object a line.
 * `--instruments counter,supply` and `--displays "RF power,FM deviation"` say what stands on it (the separate bench where neither is given).
 * `--hand URL --token TOKEN`, or a line `hand URL TOKEN` on standard input, lets the simulated hand follow the service
 * there. Ends on SIGTERM, on Ctrl-C at a terminal of its own, or when whoever holds the other end of standard input goes away.
 */
async function main(): Promise<void> {
  const { values } = parseArgs({
    options: {
      seed: { type: 'string' },
      pace: { type: 'string', default: '1' },
      origin: { type: 'string' },
      cold: { type: 'boolean', default: false },
      instruments: { type: 'string' },
      displays: { type: 'string' },
      json: { type: 'boolean', default: false },
      hand: { type: 'string' },
      token: { type: 'string' },
    },
  })
  const times = numberOf(values.pace, 'pace') ?? 1
  const originMs = numberOf(values.origin, 'origin') ?? performance.timeOrigin
  const seed = numberOf(values.seed, 'seed')
  const log = openLog('simulated-bench')
  const clock = realClock({ times, originMs })
  const stop = new AbortController()
  // Noise differs from run to run unless a seed is given; the log says which one was used.
  const noiseSeed = seed ?? Math.floor(performance.timeOrigin) % 2 ** 31
  log.info({ seed, noiseSeed, times, originMs }, 'simulated bench starts')

  const bench = await openSimulatedBench({
    clock,
    rng: seededRng(noiseSeed),
    log,
    links: 'real',
    signal: stop.signal,
    seed,
    kind: partsOf(values.instruments, values.displays),
    warm: !values.cold,
    setPage: true,
  })
  const follow = (url: string, token: string) => {
    log.info({ url }, 'the hand follows')
    const { set, displays } = bench
    const rng = seededRng(noiseSeed + 1)
    runHandClient({
      set,
      displays,
      clock,
      rng,
      log,
      url,
      token,
      signal: stop.signal,
      knowsItIsWarm: !values.cold,
    }).catch((reason: unknown) => {
      if (!stop.signal.aborted) throw reason
    })
  }
  // Ready means that it can be told to stop, too.
  const asked = untilAskedToStop((line) => {
    const [word, url, token] = line.trim().split(/\s+/)
    if (word === 'hand' && url !== undefined && token !== undefined) follow(url, token)
    else log.warn({ line }, 'not understood on standard input')
  })
  const say = (name: string, address: string) =>
    process.stdout.write(values.json ? `${JSON.stringify({ name, address })}\n` : `${name} ${address}\n`)
  for (const [name, address] of Object.entries(bench.addresses)) if (address !== '') say(name, address)
  if (bench.setPageUrl) say('set', bench.setPageUrl)
  process.stdout.write(values.json ? '{"ready":true}\n' : 'ready\n')

  if (values.hand !== undefined) follow(values.hand, values.token ?? '')

  await asked
  stop.abort(new Error('simulated bench stopped'))
  await bench.close()
  process.exit(0)
}

/** A number, null where nothing was given; TypeError for anything else. */
function numberOf(text: string | undefined, option: string): number | null {
  if (text === undefined) return null
  const value = Number(text)
  if (text.trim() === '' || !Number.isFinite(value)) throw new TypeError(`--${option} wants a number, not ${text}`)
  return value
}

/** What was asked for; a name that no simulated instrument has is nobody's, and whoever needs its address is told. */
function partsOf(instruments: string | undefined, displays: string | undefined): BenchKind | BenchParts {
  if (instruments === undefined && displays === undefined) return 'separate'
  const names = (text: string | undefined) => (text === undefined || text === '' ? [] : text.split(','))
  return {
    instruments: names(instruments).filter(isInstrumentName),
    displays: QUANTITY_NAMES.filter((quantity) => names(displays).includes(quantity)),
  }
}

function untilAskedToStop(onLine: (line: string) => void): Promise<void> {
  return new Promise((resolve) => {
    process.once('SIGTERM', () => resolve())
    // Only a pipe or a terminal tells that somebody is gone; a file or /dev/null ends at once and means nothing.
    const input = fstatSync(0)
    const held = input.isFIFO() || input.isSocket()
    // Ctrl-C reaches the whole group; a parent still needs the supply to make its bench safe, and closes the pipe after that.
    process.on('SIGINT', () => {
      if (!held) resolve()
    })
    if (!held && !process.stdin.isTTY) return
    const lines = createInterface({ input: process.stdin })
    lines.on('line', onLine)
    lines.once('close', () => resolve())
  })
}

main().catch((error: unknown) => {
  process.stderr.write(`${wordsOf(error)}\n`)
  process.exit(1)
})
