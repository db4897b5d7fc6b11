import { spawn } from 'node:child_process'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { BenchError } from '../fault/bench-error.ts'
import type { Quantity } from '../quantity/quantity.ts'
import { HOME } from '../recording/home.ts'
import type { BenchFile } from '../schema/files/bench-file.ts'
import type { Pace } from '../system/clock.ts'
import { type Said, said } from '../words/said/said.ts'

/** The simulated bench as a process of its own, reached by the addresses it prints. */
export interface SimulatedProcess {
  readonly addresses: Readonly<Record<string, string>>
  readonly setPage: string | null
  /** From here on the simulated hand follows the live frames of a service, as a page that steers. */
  handFollows(service: { readonly socketUrl: string; readonly token: string }): void
  /** The process has ended by itself. */
  readonly gone: Promise<void>
  close(): Promise<void>
}

/** Instruments by the names of the bench file, and quantities that are read off meters without a socket. */
export interface Standing {
  readonly instruments: readonly string[]
  readonly displays: readonly Quantity[]
}

/** What a bench file asks of the simulated bench. */
export function standingOn(file: BenchFile): Standing {
  return {
    instruments: file.entries.filter(({ at }) => at === 'simulated').map(({ name }) => name),
    displays: file.entries.flatMap(({ at, quantity }) => (at === null && quantity !== null ? [quantity] : [])),
  }
}

const READY_WITHIN_MS = 15_000

/** Starts `mocks/main.ts` and waits until it is ready. It ends when its standard input closes, whatever happens here. Throws SIMULATION_FAILED. */
export async function startSimulated(about: {
  /** null: the healthy radio of mocks/plant, always the same. */
  readonly seed: number | null
  readonly pace: Pace
  /** What stands on it; the separate bench where nothing is said. */
  readonly stands?: Standing
  readonly more?: readonly string[]
}): Promise<SimulatedProcess> {
  const words = [join(HOME, 'mocks', 'main.cjs')]
  const seeded = about.seed === null ? [] : ['--seed', String(about.seed)]
  const paced = ['--pace', String(about.pace.times), '--origin', String(about.pace.originMs)]
  const { stands } = about
  const standing = stands
    ? ['--instruments', stands.instruments.join(','), '--displays', stands.displays.join(',')]
    : []
  const child = spawn(process.execPath, [...words, ...seeded, ...paced, ...standing, ...(about.more ?? [])], {
    stdio: ['pipe', 'pipe', 'inherit'],
    cwd: HOME,
    detached: true, // a signal to the whole group must not take the simulated supply away before the keeper has made it safe
  })
  child.stdin.on('error', () => {}) // a child that is gone cannot be told to go
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()))
  const addresses: Record<string, string> = {}
  const lines = createInterface({ input: child.stdout })
  const ready = new Promise<void>((resolve) => {
    lines.on('line', (line) => {
      const [name = '', address] = line.split(' ')
      if (line === 'ready') resolve()
      else if (address !== undefined) addresses[name] = address
    })
  })
  const failed = (words: Said) => new BenchError('SIMULATION_FAILED', 'simulated bench', words)
  const tooLate = new Promise<never>((_, reject) => {
    setTimeout(
      () => reject(failed(said('command.simulation-late', { seconds: READY_WITHIN_MS / 1000 }))),
      READY_WITHIN_MS,
    ).unref()
  })
  const died = ended.then(() => {
    throw failed(said('command.simulation-ended', { how: String(child.exitCode ?? child.signalCode) }))
  })
  const close = async () => {
    child.stdin.end()
    await ended
  }
  try {
    await Promise.race([ready, died, tooLate])
  } catch (error) {
    child.stdin.end()
    child.kill('SIGTERM')
    throw error
  }
  died.catch(() => {}) // from here on its end is told by `gone`
  const { set = null, ...instruments } = addresses
  const handFollows = ({ socketUrl, token }: { socketUrl: string; token: string }) => {
    child.stdin.write(`hand ${socketUrl} ${token}\n`)
  }
  return { addresses: instruments, setPage: set, handFollows, gone: ended, close }
}
