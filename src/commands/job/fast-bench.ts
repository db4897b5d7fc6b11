import { isInstrumentName, openSimulatedBench, type SimulatedBench } from '../../../mocks/simulated-bench.ts'
import type { Offered } from '../../alignment/offered.ts'
import type { Recorder } from '../../alignment/recorder.ts'
import { openSession, type Session } from '../../alignment/session.ts'
import type { Bench } from '../../bench/bench.ts'
import { type LoadedBench, loadBench } from '../../bench/load-bench.ts'
import { openBench } from '../../bench/open-bench.ts'
import { openCourse } from '../../course/course.ts'
import { openSupplyPort } from '../../instrument/supply.ts'
import { openKeeperHere } from '../../keeper/service/keeper-here.ts'
import type { Supply } from '../../keeper/service/supply.ts'
import { jobRecorder } from '../../recording/job-recorder.ts'
import { atTheEnd } from '../../recording/record-at-end.ts'
import { type Log, openLog } from '../../system/log.ts'
import { type Rng, seededRng } from '../../system/rng.ts'
import type { VirtualClock } from '../../system/virtual-clock.ts'
import { DRIVERS, SIMULATED_BENCH } from '../bench-options.ts'
import { courseFacts } from '../course-facts.ts'
import { loadPlans, loadProcedure, loadRuleCards } from '../load-procedures.ts'
import { standingOn } from '../simulated.ts'

export interface FastBenchChoice {
  /** The one procedure that is offered, a file. */
  readonly procedure: string
  readonly seed: number | null
  readonly warm: boolean
  /** The bench file; the separate simulated bench where none is given. */
  readonly benchFile?: string
  /** Where the job is written down; nowhere unless given. */
  readonly recorder?: Recorder
  /** Data folder for a journal and its signed record; none unless given. */
  readonly recordIn?: string
  /** The page of the set is served too, over a real socket; not unless asked for. */
  readonly setPage?: boolean
  /** Where the whole course of it is kept; nowhere unless given. */
  readonly courseIn?: string
}

/** Bench, keeper, simulated radio and session in this process, on a clock that jumps. */
export interface FastBench {
  readonly world: SimulatedBench
  readonly bench: Bench
  readonly session: Session
  readonly offered: Offered
  readonly recorder: Recorder | undefined
  readonly rng: Rng
  readonly log: Log
  /** Aborted by `close`. */
  readonly signal: AbortSignal
  close(): Promise<void>
}

/** The keeper looks less often than over real links: every look is seven questions, and here nobody else can touch the supply. */
const LOOKS_PER_SECOND = 3

/** Opens everything or nothing. Throws what the parts throw. */
export async function openFastBench(choice: FastBenchChoice, clock: VirtualClock): Promise<FastBench> {
  const stop = new AbortController()
  const { benchFile = SIMULATED_BENCH } = choice
  const { signal } = stop
  const log = openLog('trimwright')
  const rng = seededRng(choice.seed ?? 1)
  const plans = loadPlans()
  const offered = loadProcedure(choice.procedure, plans)
  const loaded = loadBench(benchFile, DRIVERS)
  const closers: (() => Promise<void>)[] = []
  const close = async () => {
    for (const closer of closers.splice(0).toReversed()) await closer()
    stop.abort(new Error('the fast job is over'))
  }
  try {
    const stands = standingOn(loaded.file)
    const opening = openSimulatedBench({
      clock,
      rng,
      log,
      links: 'memory',
      signal,
      seed: choice.seed,
      warm: choice.warm,
      kind: { instruments: stands.instruments.filter(isInstrumentName), displays: stands.displays },
      setPage: choice.setPage ?? false,
    })
    clock.standFor(opening) // a real port is not opened in bench time
    const world = await opening
    closers.push(world.close)
    const deps = { clock, rng, log, memory: world.net }
    const real = await openFastKeeper(loaded, world.addresses.supply, deps, signal)
    closers.push(() => real.close())
    const ruleCards = loadRuleCards()
    const facts = () =>
      courseFacts({
        benchFile,
        loaded,
        offered: [offered],
        ruleCards,
        addresses: world.addresses,
        setPage: world.setPageUrl,
        writesJobs: choice.recordIn !== undefined || choice.recorder !== undefined,
      })
    const whole = choice.courseIn
    const course =
      whole === undefined
        ? null
        : openCourse({ facts: facts(), clock, rng, log, keepIn: null, whole, hold: clock.standFor })
    const supply = course?.supply(real) ?? real
    course?.begin()
    const bench = await openBench({
      ...loaded,
      deps: { ...deps, ...course?.deps },
      supply,
      addresses: world.addresses,
      signal,
    })
    closers.push(() => bench.close())
    const written = { benchFile, loaded, driverFolder: DRIVERS, ruleCards, clock, log }
    const recorder =
      choice.recordIn === undefined
        ? choice.recorder
        : atTheEnd(jobRecorder({ ...written, folder: choice.recordIn, bench }), clock)
    const own = openSession({
      bench,
      procedures: [offered],
      plans,
      deps: { ...deps, ...course?.deps },
      setPage: world.setPageUrl,
      ruleCards,
      ...(recorder ? { recorder: course?.recorder(recorder) ?? recorder } : {}),
    })
    const session = course?.session(own) ?? own
    closers.push(() => session.close())
    if (course) closers.push(course.end)
    return { world, bench, session, offered, recorder, rng, log, signal, close }
  } catch (error) {
    await close()
    throw error
  }
}

/** A keeper in this process, on the simulated supply at `address`. Throws what opening the supply throws. */
async function openFastKeeper(
  loaded: LoadedBench,
  address: string,
  deps: Parameters<typeof openSupplyPort>[2] & { readonly log: Log },
  signal: AbortSignal,
): Promise<Supply> {
  const entry = loaded.file.entries.find((one) => one.limits !== null)
  const driver = entry && loaded.drivers.get(entry.driver)
  if (!entry?.limits || !driver) throw new TypeError('the simulated bench has no supply')
  const at = { ...entry, at: address }
  const port = await openSupplyPort(at, driver, deps, { ms: 5000, signal })
  return openKeeperHere({
    port,
    ...entry.limits,
    ...(entry.crowbar === null ? {} : { crowbarVolts: entry.crowbar.tripsAtVolts }),
    looksPerSecond: LOOKS_PER_SECOND,
    dataFolder: null,
    deps,
    signal,
  })
}
