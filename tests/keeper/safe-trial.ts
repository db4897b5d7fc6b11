import { type ChildProcess, execFileSync, spawn } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'
import { openSimulatedBench, type SimulatedBench } from '../../mocks/simulated-bench.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { type Spoilt, type SpoiltLink, spoilLink } from './spoilt-link.ts'

/** A stand-in service that holds a simulated supply at 15.6 V with the set keyed, through a real keeper process. */
export interface HighBench {
  readonly service: ChildProcess
  readonly keeperPid: number
  /** Keepers and standbys of this supply that are there now, by what they are. */
  processes(): readonly { readonly pid: number; readonly role: 'keeper' | 'standby' }[]
  readonly bench: SimulatedBench
  /** The link to the supply. */
  readonly link: SpoiltLink
  /** What the stand-in said, a JSON object a line. */
  readonly said: Record<string, unknown>[]
  /** Resolves when the stand-in has said something that `fits`; rejects after `ms`. */
  heard(fits: (facts: Record<string, unknown>) => boolean, ms: number): Promise<Record<string, unknown>>
  /** Seconds of real time from now until the output at the supply is off; rejects after `ms`. */
  untilOff(ms: number): Promise<number>
  notes(): { readonly what: string; readonly why: string; readonly proved: boolean }[]
  /** Ends every process that was started, waits until the keeper is gone, closes the bench. */
  close(): Promise<void>
}

const STAND_IN = fileURLToPath(new URL('service-stand-in.ts', import.meta.url))
const ROOT = fileURLToPath(new URL('../..', import.meta.url))
const LOOK_MS = 5
const PROCESSES_MS = 500
const END_MS = 20_000
const START_MS = 40_000

const sleepMs = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms))

/** Two processes take a second of a core to start; benches are opened one after the other, so that none starves the others. */
let opening: Promise<unknown> = Promise.resolve()

/** Opens a bench of its own, when those asked for before are open, with the output on at 15.6 V and the key down. `times`: the pace of all clocks. */
export function openHighBench(seed: number, times = 1): Promise<HighBench> {
  const opened = opening.then(() => openNow(seed, times))
  opening = opened.catch(() => {})
  return opened
}

async function openNow(seed: number, times: number): Promise<HighBench> {
  const stop = new AbortController()
  const pace = { times, originMs: performance.timeOrigin }
  const folder = mkdtempSync(join(tmpdir(), 'keeper-trial-'))
  const bench = await openSimulatedBench({
    clock: realClock(pace),
    rng: seededRng(seed),
    log: silentLog,
    links: 'real',
    signal: stop.signal,
    seed: null,
  })
  const link = await spoilLink(bench.addresses.supply)
  // Loaded as the keeper is: two dozen of them start on two cores.
  const words = [
    '--require',
    'tsx/cjs',
    '--eval',
    `require(${JSON.stringify(STAND_IN)})`,
    link.address,
    folder,
    String(times),
    String(pace.originMs),
  ]
  const service = spawn(process.execPath, words, { stdio: ['pipe', 'pipe', 'inherit'], cwd: ROOT })
  service.stdin.on('error', () => {}) // it is killed on purpose
  const said: Record<string, unknown>[] = []
  createInterface({ input: service.stdout }).on('line', (line) => said.push(JSON.parse(line)))
  const until = async <T>(ms: number, what: string, look: () => T | undefined): Promise<T> => {
    const endMs = performance.now() + ms
    for (;;) {
      const found = look()
      if (found !== undefined) return found
      if (performance.now() > endMs) throw new Error(`not within ${ms} ms: ${what}; said ${JSON.stringify(said)}`)
      await sleepMs(LOOK_MS)
    }
  }
  let exited: string | null = null
  service.once('exit', (code, signal) => {
    exited = `the stand-in ended with ${code ?? signal}`
  })
  const heard: HighBench['heard'] = (fits, ms) => until(ms, 'something said', () => said.find(fits))
  const keeperPid = () => Number(said.find((facts) => 'keeper' in facts)?.keeper ?? 0)
  const processes = () => processesAt(link.address)
  const close = async () => {
    link.spoil({ kind: 'well' })
    service.kill('SIGKILL')
    for (const { pid } of processes()) process.kill(pid, 'SIGCONT')
    // Asked for seldom: asking stops this process, and with it the simulated supply.
    const endMs = performance.now() + END_MS
    while (processes().length > 0) {
      if (performance.now() > endMs) throw new Error(`still there: ${JSON.stringify(processes())}`)
      await sleepMs(PROCESSES_MS)
    }
    await link.close()
    await bench.close()
    stop.abort()
    rmSync(folder, { recursive: true, force: true })
  }
  try {
    await until(START_MS, '15.6 V', () => {
      if (exited !== null) throw new Error(exited)
      return said.find((facts) => 'high' in facts)
    })
  } catch (error) {
    await close()
    throw error
  }
  bench.set.key(true)
  return {
    service,
    keeperPid: keeperPid(),
    processes,
    link,
    bench,
    said,
    heard,
    untilOff: async (ms) => {
      const fromMs = performance.now()
      await until(ms, 'output off', () => (bench.supplyTruth().output === 'off' ? true : undefined))
      return (performance.now() - fromMs) / 1000
    },
    notes: () => {
      const text = readFileSync(join(folder, 'keeper-notes.jsonl'), 'utf8')
      return text
        .trim()
        .split('\n')
        .map((line) => JSON.parse(line))
    },
    close,
  }
}

/** Found by their arguments: what was started by whom does not matter, what is there does. */
function processesAt(address: string): readonly { pid: number; role: 'keeper' | 'standby' }[] {
  const lines = execFileSync('ps', ['-ww', '-eo', 'pid=,stat=,args='], { encoding: 'utf8', maxBuffer: 2 ** 26 }).split(
    '\n',
  )
  return lines.flatMap((line) => {
    const [, pid, stat, args] = /^\s*(\d+)\s+(\S+)\s+(.*)$/.exec(line) ?? []
    if (pid === undefined || stat?.startsWith('Z') || !args?.includes('keeper-main.cjs')) return []
    if (!args.includes(`"address":"${address}"`)) return []
    return [{ pid: Number(pid), role: args.includes('"keeperPid"') ? ('standby' as const) : ('keeper' as const) }]
  })
}

/** Who is struck, and how; one of them at a moment of chance, the second within 300 ms of it. */
export interface Blow {
  readonly at: 'service' | 'keeper' | 'standby'
  readonly how: 'kill' | 'stop' | 'flap'
}

const AFTER_MS = 300
const FLAPS = 3
const FLAP_MS = 200

async function strike(high: HighBench, blow: Blow): Promise<void> {
  const pid = blow.at === 'service' ? high.service.pid : high.processes().find(({ role }) => role === blow.at)?.pid
  if (pid === undefined) throw new Error(`no ${blow.at} there`)
  if (blow.how === 'kill') return void process.kill(pid, 'SIGKILL')
  for (let flap = 0; blow.how === 'flap' && flap < FLAPS; flap++) {
    process.kill(pid, 'SIGSTOP')
    await sleepMs(FLAP_MS)
    process.kill(pid, 'SIGCONT')
    await sleepMs(FLAP_MS)
  }
  process.kill(pid, 'SIGSTOP')
}

/** Seconds from the last blow until the output is off at the supply; void trials are made again. */
export async function blowTrial(
  blows: readonly Blow[],
  seed: number,
  spoilt: Spoilt = { kind: 'well' },
): Promise<number> {
  for (let voids = 0; ; voids++) {
    const high = await openHighBench(seed)
    const rng = seededRng(seed)
    try {
      await sleepMs(rng() * 2500)
      const truth = high.bench.supplyTruth()
      if (truth.output === 'on' && truth.volts > 15 && high.processes().length === 2) {
        for (const [index, blow] of blows.entries()) {
          if (index > 0) await sleepMs(rng() * AFTER_MS)
          await strike(high, blow)
        }
        high.link.spoil(spoilt)
        return await high.untilOff(60_000)
      }
      if (voids === MOST_VOIDS) throw new Error(`not high: ${JSON.stringify(truth)} ${JSON.stringify(high.said)}`)
    } finally {
      await high.close()
    }
  }
}

/**
 * One trial: the service gets `signal` at a moment of chance within 2.5 s while it holds the supply at 15.6 V, keyed.
 * Seconds from then until the output is off at the supply. Void, and made again, when a starved machine had the keeper
 * switch off before the signal.
 */
export function safeTrial(signal: 'SIGKILL' | 'SIGSTOP', seed: number): Promise<number> {
  return blowTrial([{ at: 'service', how: signal === 'SIGKILL' ? 'kill' : 'stop' }], seed)
}

const MOST_VOIDS = 2
