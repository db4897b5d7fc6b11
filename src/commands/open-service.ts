import { join } from 'node:path'
import { type Offered, openSession, type Session } from '../alignment/session.ts'
import type { Bench } from '../bench/bench.ts'
import { type LoadedBench, loadBench } from '../bench/load-bench.ts'
import { openBench } from '../bench/open-bench.ts'
import { BenchError } from '../fault/bench-error.ts'
import { addressOf } from '../instrument/address-of.ts'
import { openKeeper } from '../keeper/keeper-client.ts'
import { noSupply } from '../keeper/no-supply.ts'
import { kindOfBench } from '../schema/bench-file.ts'
import { type Pace, realClock } from '../system/clock.ts'
import type { Deps } from '../system/deps.ts'
import { openLog } from '../system/log.ts'
import { seededRng } from '../system/rng.ts'
import { textOf, type Values } from './command.ts'
import { HOME, loadPlans, loadProcedures } from './load-procedures.ts'
import { type SimulatedProcess, startSimulated } from './simulated.ts'

export const SIMULATED_BENCH = join(HOME, 'mocks', 'bench.yaml')
export const DRIVERS = join(HOME, 'drivers')

/** What a person chose on the command line, for every command that opens a bench. */
export interface ServiceChoice {
  readonly benchFile: string
  readonly dataFolder: string
  readonly seed: number | null
  readonly pace: Pace
  readonly simulatedMore: readonly string[]
}

export const BENCH_OPTIONS = {
  bench: { type: 'string' },
  data: { type: 'string' },
  seed: { type: 'string' },
  cold: { type: 'boolean' },
} as const
export const BENCH_HELP = {
  bench: 'the bench file (the simulated bench where none is given)',
  data: 'folder for records and notes (data)',
  seed: 'which simulated set lies on the bench, a number; without it the healthy one of the training notes',
  cold: 'the simulated set was just switched on',
} as const

/** Reads the common options. Throws COMMAND_USAGE. */
export function choiceOf(values: Values): ServiceChoice {
  const pace = numberOf(values, 'pace') ?? 1
  if (pace < 0.1 || pace > 100)
    throw new BenchError('COMMAND_USAGE', 'trimwright', `--pace is from 0.1 to 100, not ${pace}`)
  return {
    benchFile: textOf(values, 'bench') ?? SIMULATED_BENCH,
    dataFolder: textOf(values, 'data') ?? join(HOME, 'data'),
    seed: numberOf(values, 'seed') ?? null,
    pace: { times: pace, originMs: performance.timeOrigin },
    simulatedMore: values.cold === true ? ['--cold'] : [],
  }
}

/** A number given as an option, or undefined. Throws COMMAND_USAGE for anything else. */
export function numberOf(values: Values, name: string): number | undefined {
  const text = textOf(values, name)
  if (text === undefined) return undefined
  if (!/^\d+(\.\d+)?$/.test(text))
    throw new BenchError('COMMAND_USAGE', 'trimwright', `--${name} wants a number, not "${text}"`)
  return Number(text)
}

/** Bench, keeper and session, opened; the simulated bench too where the bench file asks for it. */
export interface Service {
  readonly deps: Deps
  readonly bench: Bench
  readonly session: Session
  readonly simulated: SimulatedProcess | null
  /** Supply safe first, then instruments in reverse order, then the simulated bench. Idempotent, never throws. */
  close(): Promise<void>
}

/** An instrument slower than this joins the bench when it answers. */
const OPEN_WITHIN_MS = 600

/** Opens everything or nothing; `more`: procedures from elsewhere, offered first. Throws what the parts throw, in words. */
export async function openService(
  choice: ServiceChoice,
  signal: AbortSignal,
  more: readonly Offered[] = [],
): Promise<Service> {
  const closers: (() => Promise<void>)[] = []
  const close = async () => {
    for (const closer of closers.splice(0).toReversed()) await closer()
  }
  // The bench file of the program itself is simulated: its process starts while the files are still being read.
  const early = choice.benchFile === SIMULATED_BENCH ? simulatedProcess(choice, closers) : null
  early?.catch(() => {}) // told below, once the files are right
  try {
    const deps: Deps = {
      clock: realClock(choice.pace),
      rng: seededRng(Math.floor(performance.timeOrigin)),
      log: openLog('trimwright'),
    }
    const loaded = loadBench(choice.benchFile, DRIVERS)
    const kind = kindOfBench(loaded.file)
    if (choice.pace.times !== 1 && kind !== 'simulated')
      throw new BenchError('COMMAND_USAGE', choice.benchFile, '--pace is for the simulated bench only')
    const plans = loadPlans()
    const own = loadProcedures(plans).filter(({ file }) => !more.some((other) => other.file === file))
    const simulated = kind === 'simulated' ? await (early ?? simulatedProcess(choice, closers)) : null
    const addresses = simulated?.addresses ?? {}
    const start = keeperStart(loaded, addresses, choice)
    const supply = start ? await openKeeper({ start, deps, signal }) : noSupply(loaded.file.name, kind === 'simulated')
    closers.push(() => supply.close())
    const bench = await openBench({ ...loaded, deps, supply, addresses, signal, openWithinMs: OPEN_WITHIN_MS })
    closers.push(() => bench.close())
    const session = openSession({
      bench,
      procedures: [...more, ...own],
      plans,
      deps,
      setPage: simulated?.setPage ?? null,
    })
    closers.push(
      () => session.close(),
      async () => void (await supply.safe('the service ends').catch(() => {})),
    )
    return { deps, bench, session, simulated, close }
  } catch (error) {
    await early?.catch(() => {}) // so that it is closed too
    await close()
    throw error
  }
}

async function simulatedProcess(choice: ServiceChoice, closers: (() => Promise<void>)[]): Promise<SimulatedProcess> {
  const { seed, pace, simulatedMore } = choice
  const started = await startSimulated({ seed, pace, more: simulatedMore })
  closers.unshift(started.close)
  return started
}

/** How the keeper of this bench's supply is started; null where no instrument has `limits`, which is what makes it the supply. */
function keeperStart(loaded: LoadedBench, addresses: Readonly<Record<string, string>>, choice: ServiceChoice) {
  const entry = loaded.file.entries.find((one) => one.limits !== null)
  if (!entry?.limits) return null
  return {
    who: `${entry.name} (${entry.driver} at ${addressOf(entry, addresses)})`,
    address: addressOf(entry, addresses),
    driver: entry.driver,
    answersAs: entry.answersAs,
    ...entry.limits,
    dataFolder: choice.dataFolder,
    pace: choice.pace,
  }
}
