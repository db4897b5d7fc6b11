import { join } from 'node:path'
import type { Offered, WrongFile } from '../alignment/offered.ts'
import { openSession, type Session } from '../alignment/session.ts'
import type { Bench } from '../bench/bench.ts'
import { type LoadedBench, loadBench } from '../bench/load-bench.ts'
import { openBench } from '../bench/open-bench.ts'
import { openCourse } from '../course/course.ts'
import { BenchError } from '../fault/bench-error.ts'
import { addressOf } from '../instrument/address-of.ts'
import { openKeeper } from '../keeper/service/keeper-client.ts'
import { lateSupply } from '../keeper/service/late-supply.ts'
import { noSupply } from '../keeper/service/no-supply.ts'
import type { Supply } from '../keeper/service/supply.ts'
import { jobRecorder } from '../recording/job-recorder.ts'
import { type BenchFile, kindOfBench } from '../schema/files/bench-file.ts'
import { realClock } from '../system/clock.ts'
import type { Deps } from '../system/deps.ts'
import { type Log, openLog } from '../system/log.ts'
import { seededRng } from '../system/rng.ts'
import { said } from '../words/said/said.ts'
import { DRIVERS, type ServiceChoice } from './bench-options.ts'
import { courseFacts } from './course-facts.ts'
import { loadPlans, loadProcedures, loadRuleCards } from './load-procedures.ts'
import { type SimulatedProcess, standingOn, startSimulated } from './simulated.ts'

/** Bench, keeper and session, opened; the simulated bench too where the bench file asks for it. */
export interface Service {
  readonly deps: Deps
  readonly bench: Bench
  readonly session: Session
  readonly simulated: SimulatedProcess | null
  /** The keeper is there too, and its supply is of the bench's kind; rejects in words when it is not. */
  readonly ready: Promise<void>
  /** Supply safe first, then instruments in reverse order, then the simulated bench. Idempotent, never throws. */
  close(): Promise<void>
}

/** An instrument slower than this joins the bench when it answers. */
const OPEN_WITHIN_MS = 250

/** Opens everything or nothing; `more`: procedures from elsewhere, offered first; `early`: the simulated bench, started already. Throws what the parts throw, in words. */
export async function openService(
  choice: ServiceChoice,
  signal: AbortSignal,
  more: readonly Offered[] = [],
  early: Promise<SimulatedProcess> | null = null,
): Promise<Service> {
  const closers: (() => Promise<void>)[] = []
  const close = async () => {
    for (const closer of closers.splice(0).toReversed()) await closer()
  }
  early?.then((started) => closers.unshift(started.close)).catch(() => {}) // told below, once the files are right
  try {
    const deps: Deps = {
      clock: realClock(choice.pace),
      rng: seededRng(Math.floor(performance.timeOrigin)),
      log: openLog('trimwright'),
    }
    const loaded = loadBench(choice.benchFile, DRIVERS, deps.clock.wallTime().slice(0, 10))
    const kind = kindOfBench(loaded.file)
    if (choice.pace.times !== 1 && kind !== 'simulated')
      throw new BenchError('COMMAND_USAGE', choice.benchFile, said('command.pace-simulated-only'))
    const { plans, offered, ruleCards, wrongFiles } = loadOffers(more, deps.log)
    const simulated = kind === 'simulated' ? await (early ?? simulatedProcess(choice, loaded.file, closers)) : null
    const addresses = simulated?.addresses ?? {}
    const start = keeperStart(loaded, addresses, choice)
    const { name } = loaded.file
    const coming = start ? openKeeper({ start, deps, signal }) : Promise.resolve(noSupply(name, kind === 'simulated'))
    const supply = lateSupply(coming, name, kind === 'simulated')
    closers.push(() => supply.close())
    const { openWithinMs = OPEN_WITHIN_MS } = choice
    const setPage = simulated?.setPage ?? null
    const about = { benchFile: choice.benchFile, loaded, offered, ruleCards, wrongFiles, addresses, setPage }
    const course = openCourse({
      facts: courseFacts({ ...about, openWithinMs, writesJobs: true }),
      ...deps,
      keepIn: join(choice.dataFolder, 'courses'),
      whole: choice.courseIn ?? null,
    })
    closers.push(course.end)
    const watched = { ...deps, ...course.deps }
    const supplyInside = course.supply(supply)
    course.begin()
    const opening = openBench({ ...loaded, deps: watched, supply: supplyInside, addresses, signal, openWithinMs })
    opening.then((opened) => closers.push(() => opened.close())).catch(() => {}) // told below
    const bench = await opening
    const ready = coming.then((real) => {
      if (start) refuseMixed(name, kind, real)
    })
    ready.catch(() => {}) // whoever waits for it is told
    const recorder = jobRecorder({
      folder: choice.dataFolder,
      bench,
      benchFile: choice.benchFile,
      loaded,
      driverFolder: DRIVERS,
      ruleCards,
      clock: deps.clock,
      log: deps.log,
    })
    const session = course.session(
      openSession({
        bench,
        procedures: offered,
        plans,
        deps: watched,
        setPage,
        ruleCards,
        wrongFiles,
        recorder: course.recorder(recorder),
      }),
    )
    const safeFirst = async () => {
      const written = course.end()
      await supply.safe(said('command.service-ends')).catch(() => {})
      await written
    }
    closers.push(() => session.close(), safeFirst)
    return { deps, bench, session, simulated, ready, close }
  } catch (error) {
    await early?.catch(() => {}) // so that it is closed too
    await close()
    throw error
  }
}

/** What can be chosen: `more` first, which stands before what is read under its name. What is wrong in a file is told, and the rest is offered. */
function loadOffers(more: readonly Offered[], log: Log) {
  const wrongFiles: WrongFile[] = []
  const tellWrong = (wrong: WrongFile) => {
    wrongFiles.push(wrong)
    log.warn({ file: wrong.file }, `this file is wrong and is not offered: ${wrong.words.join('; ')}`)
  }
  const plans = loadPlans(undefined, tellWrong)
  const own = loadProcedures(plans, undefined, tellWrong).filter(
    ({ file }) => !more.some((other) => other.file === file),
  )
  const ruleCards = loadRuleCards(undefined, tellWrong)
  return { plans, offered: [...more, ...own], ruleCards, wrongFiles }
}

/** The supply is as real, or as simulated, as the bench file says. Throws BENCH_MIXED. */
function refuseMixed(name: string, kind: ReturnType<typeof kindOfBench>, real: Supply): void {
  if (real.simulated === (kind === 'simulated')) return
  const happened = said('command.supply-mixed', { kind, identity: real.identity })
  throw new BenchError('BENCH_MIXED', name, happened)
}

async function simulatedProcess(
  choice: ServiceChoice,
  file: BenchFile,
  closers: (() => Promise<void>)[],
): Promise<SimulatedProcess> {
  const { seed, pace, simulatedMore } = choice
  const started = await startSimulated({ seed, pace, stands: standingOn(file), more: simulatedMore })
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
    ...(entry.crowbar === null ? {} : { crowbarVolts: entry.crowbar.tripsAtVolts }),
    dataFolder: choice.dataFolder,
    pace: choice.pace,
  }
}
