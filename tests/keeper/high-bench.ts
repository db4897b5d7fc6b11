import { type ChildProcess, spawn } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { constants, setPriority, tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'
import { openSimulatedBench, type SimulatedBench } from '../../mocks/simulated-bench.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { worded } from '../../src/words/sentence/sentence.ts'
import { type KeeperProcess, keeperProcesses } from './keeper-processes.ts'
import { type LinkKind, type SpoiltLink, spoilLink } from './spoilt-link.ts'

/** A stand-in service that holds a simulated supply at 15.6 V with the radio keyed, through a real keeper process. */
export interface HighBench {
  readonly service: ChildProcess
  readonly keeperPid: number
  /** Keepers and standbys of this supply that are there now, by what they are. */
  processes(): readonly KeeperProcess[]
  readonly bench: SimulatedBench
  /** The link to the supply. */
  readonly link: SpoiltLink
  /** What the stand-in said, a JSON object a line. */
  readonly said: Record<string, unknown>[]
  /** Resolves when the stand-in has said something that `fits`; rejects after `ms`. */
  heard(fits: (facts: Record<string, unknown>) => boolean, ms: number): Promise<Record<string, unknown>>
  /** Seconds of real time from `fromMs` (performance.now(); the call unless given) until the output at the supply is off; rejects after `ms`. */
  untilOff(ms: number, fromMs?: number): Promise<number>
  /** The keeper's notes on disk; none where it has written none. */
  notes(): { readonly what: string; readonly why: string; readonly proved: boolean }[]
  /** The link mended, every process that was started ended, the keeper gone. Rejects where one is still there after a minute. Idempotent. */
  end(): Promise<void>
  /** Ends, then closes the bench. */
  close(): Promise<void>
}

const STAND_IN = fileURLToPath(new URL('service-stand-in.ts', import.meta.url))
const ROOT = fileURLToPath(new URL('../..', import.meta.url))
const LOOK_MS = 5
const PROCESSES_MS = 100
const END_MS = 60_000
const START_MS = 40_000

export const sleepMs = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms))

/** Processes take a second of a core to start; they are started one bench after the other, so that none starves the others. */
let starting: Promise<unknown> = Promise.resolve()

/** Whoever plays the supply may have raised its own priority, which goes to all that it starts. */
export function usualPriority(pid: number | undefined): void {
  try {
    if (pid !== undefined) setPriority(pid, constants.priority.PRIORITY_NORMAL)
  } catch {
    // ended already
  }
}

/** The last few, as they were said. */
function newest(facts: readonly object[]): string {
  return JSON.stringify(facts.slice(-4))
}

/** Opens a bench of its own, when those asked for before are up, with the output on at 15.6 V and the key down. `times`: the pace of all clocks. */
export async function openHighBench(seed: number, times = 1, kind: LinkKind = 'tcp'): Promise<HighBench> {
  const begun = starting.then(() => begin(seed, times, kind))
  starting = begun.then(({ up }) => up).catch(() => {})
  return (await begun).high
}

async function begin(
  seed: number,
  times: number,
  kind: LinkKind,
): Promise<{ up: Promise<void>; high: Promise<HighBench> }> {
  const stop = new AbortController()
  const pace = { times, originMs: performance.timeOrigin }
  const folder = mkdtempSync(join(tmpdir(), 'keeper-trial-'))
  const bench = await openSimulatedBench({
    clock: realClock(pace),
    rng: seededRng(seed),
    log: silentLog,
    links: 'real',
    kind: { instruments: ['supply'], displays: [] },
    signal: stop.signal,
    seed: null,
  })
  const link = await spoilLink(bench.addresses.supply, kind, seededRng(seed + 1))
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
  usualPriority(service.pid)
  service.stdin.on('error', () => {}) // it is killed on purpose
  const said: Record<string, unknown>[] = []
  createInterface({ input: service.stdout }).on('line', (line) => said.push(JSON.parse(line)))
  const until = async <T>(ms: number, what: string, look: () => T | undefined, everyMs = LOOK_MS): Promise<T> => {
    const endMs = performance.now() + ms
    for (;;) {
      const found = look()
      if (found !== undefined) return found
      if (performance.now() > endMs) throw new Error(`not within ${ms} ms: ${what}; said ${newest(said)}`)
      await sleepMs(everyMs)
    }
  }
  let exited: string | null = null
  service.once('exit', (code, signal) => {
    exited = `the stand-in ended with ${code ?? signal}`
  })
  const saidFirst = (word: string) =>
    until(START_MS, word, () => {
      const found = said.find((facts) => word in facts)
      if (!found && exited !== null) throw new Error(`${exited}; said ${newest(said)}`)
      return found
    })
  const processes = () => keeperProcesses(link.address)
  const notes: HighBench['notes'] = () => {
    try {
      return readFileSync(join(folder, 'keeper-notes.jsonl'), 'utf8')
        .trim()
        .split('\n')
        .map((line) => worded(JSON.parse(line)))
    } catch {
      return [] // none so far
    }
  }
  const end = async () => {
    link.spoil({ kind: 'well' })
    service.kill('SIGKILL')
    for (const { pid } of processes()) process.kill(pid, 'SIGCONT')
    const none = () => (processes().length === 0 ? true : undefined)
    await until(END_MS, 'no keeper left', none, PROCESSES_MS).catch((error) => {
      throw new Error(`${error.message}; still there: ${JSON.stringify(processes())}; noted ${newest(notes())}`)
    })
  }
  const close = async () => {
    try {
      await end()
    } finally {
      for (const { pid } of processes()) process.kill(pid, 'SIGKILL')
      await link.close()
      await bench.close()
      stop.abort()
      rmSync(folder, { recursive: true, force: true })
    }
  }
  const up = saidFirst('keeper').then(() => {})
  const high = async (): Promise<HighBench> => {
    try {
      await up
      await saidFirst('high')
    } catch (error) {
      await close()
      throw error
    }
    bench.set.key(true)
    return {
      service,
      keeperPid: Number(said.find((facts) => 'keeper' in facts)?.keeper ?? 0),
      processes,
      link,
      bench,
      said,
      heard: (fits, ms) => until(ms, 'something said', () => said.find(fits)),
      untilOff: async (ms, fromMs = performance.now()) => {
        await until(ms, 'output off', () => (bench.supplyTruth().output === 'off' ? true : undefined))
        return (performance.now() - fromMs) / 1000
      },
      notes,
      end,
      close,
    }
  }
  return { up, high: high() }
}
