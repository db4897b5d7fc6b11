import { basename } from 'node:path'
import { createHand } from '../../mocks/hand.ts'
import { isInstrumentName, openSimulatedBench, type SimulatedBench } from '../../mocks/simulated-bench.ts'
import type { Recorder } from '../alignment/recorder.ts'
import { openSession, type Session } from '../alignment/session.ts'
import { loadBench } from '../bench/load-bench.ts'
import { openBench } from '../bench/open-bench.ts'
import { BenchError } from '../fault/bench-error.ts'
import { openSupplyPort } from '../instrument/supply.ts'
import { openKeeperHere } from '../keeper/keeper-here.ts'
import type { FromPage, LiveFrame } from '../schema/live-frame.ts'
import { openLog } from '../system/log.ts'
import { seededRng } from '../system/rng.ts'
import { type VirtualClock, virtualClock } from '../system/virtual-clock.ts'
import { DRIVERS, SIMULATED_BENCH } from './bench-options.ts'
import { finished, type JobOutcome, outcomeOf } from './job-outcome.ts'
import { atTheEnd, jobRecorder } from './job-recorder.ts'
import { loadPlans, loadProcedure, loadRuleCards } from './load-procedures.ts'
import { standingOn } from './simulated.ts'

/** Where a fast job's time went, bench milliseconds: the job's own marks and the intervals in which the hand was acting. */
export interface FastRun {
  readonly outcome: JobOutcome
  readonly marks: readonly { readonly atMs: number; readonly step: string; readonly state: string }[]
  readonly handMs: readonly (readonly [from: number, to: number])[]
  readonly startedMs: number
  readonly endedMs: number
}

export interface FastChoice {
  readonly procedure: string
  readonly seed: number | null
  readonly warm: boolean
  readonly bands: readonly string[]
  /** The bench file; the separate simulated bench where none is given. */
  readonly benchFile?: string
  /** A rule card's file under procedures/rules; null: none. */
  readonly rules?: string | null
  /** A closed job of the same serial; "" or absent: none. */
  readonly continues?: string
  /** SIM-1 unless given. */
  readonly serial?: string
  readonly onFrame?: (frame: LiveFrame, request: (message: FromPage) => void) => void
  /** Where the job is written down; nowhere unless given. */
  readonly recorder?: Recorder
  /** Data folder for a journal and its signed record; none unless given. */
  readonly recordIn?: string
  /** The simulated world, before the job starts: for faults that are to strike in it. */
  readonly onWorld?: (world: SimulatedBench) => void
}

/** The keeper looks less often than over real links: every look is seven questions, and here nobody else can touch the supply. */
const LOOKS_PER_SECOND = 3
/** Longest a job may take on its own clock; longer means that it is stuck. */
const LONGEST_S = 3 * 3600

/** The whole bench, keeper and simulated radio in this process, on a clock that jumps. Throws what the parts throw, or SIMULATION_FAILED when the job does not end. */
export function runFast(choice: FastChoice): Promise<FastRun> {
  const clock = virtualClock()
  return clock.runUntil(wholeJob(choice, clock))
}

async function wholeJob(choice: FastChoice, clock: VirtualClock): Promise<FastRun> {
  const stop = new AbortController()
  const { benchFile = SIMULATED_BENCH } = choice
  const { signal } = stop
  const log = openLog('trimwright')
  const rng = seededRng(choice.seed ?? 1)
  const plans = loadPlans()
  const offered = loadProcedure(choice.procedure, plans)
  const loaded = loadBench(benchFile, DRIVERS)
  const closers: (() => Promise<void>)[] = []
  try {
    const stands = standingOn(loaded.file)
    const world = await openSimulatedBench({
      clock,
      rng,
      log,
      links: 'memory',
      signal,
      seed: choice.seed,
      warm: choice.warm,
      kind: { instruments: stands.instruments.filter(isInstrumentName), displays: stands.displays },
    })
    closers.push(world.close)
    choice.onWorld?.(world)
    const deps = { clock, rng, log, memory: world.net }
    const entry = loaded.file.entries.find((one) => one.limits !== null)
    const driver = entry && loaded.drivers.get(entry.driver)
    if (!entry?.limits || !driver) throw new TypeError('the simulated bench has no supply')
    const at = { ...entry, at: world.addresses.supply }
    const port = await openSupplyPort(at, driver, deps, { ms: 5000, signal })
    const supply = await openKeeperHere({
      port,
      ...entry.limits,
      looksPerSecond: LOOKS_PER_SECOND,
      dataFolder: null,
      deps,
      signal,
    })
    closers.push(() => supply.close())
    const bench = await openBench({ ...loaded, deps, supply, addresses: world.addresses, signal })
    closers.push(() => bench.close())
    const ruleCards = loadRuleCards()
    const recorder =
      choice.recordIn === undefined
        ? choice.recorder
        : atTheEnd(
            jobRecorder({
              folder: choice.recordIn,
              bench,
              benchFile,
              loaded,
              driverFolder: DRIVERS,
              ruleCards,
              clock,
              log,
            }),
          )
    const session = openSession({
      bench,
      procedures: [offered],
      plans,
      deps,
      setPage: null,
      ruleCards,
      ...(recorder ? { recorder } : {}),
    })
    closers.push(() => session.close())
    const request = (message: FromPage) =>
      void session
        .request(message)
        .then((answer) => hand.onAnswer({ id: 'id' in message ? message.id : '', ...answer }))
    const hand = createHand({
      set: world.set,
      clock,
      rng,
      request,
      signal,
      displays: world.displays,
      knowsItIsWarm: choice.warm,
    })
    const ended = finished(session)
    session.onFrame((frame) => {
      choice.onFrame?.(frame, request)
      hand.onFrame(frame)
    })
    const startedMs = clock.nowMs()
    const asked = await session.request({
      kind: 'start job',
      id: 'start',
      procedure: offered.file,
      serial: choice.serial ?? 'SIM-1',
      bands: [...choice.bands],
      ...(choice.rules ? { rules: basename(choice.rules) } : {}),
      ...(choice.continues ? { continues: choice.continues } : {}),
    })
    if (!asked.ok) throw new BenchError('JOB_REQUEST_REFUSED', offered.file, asked.words)
    await Promise.race([ended, tooLong(clock, signal, session)])
    const job = session.job()
    if (!job) throw new TypeError('the job is gone')
    const endedMs = clock.nowMs()
    if (recorder && job.phase.name === 'finished') await session.request({ kind: 'close job', id: 'close' })
    const { record = '' } = session.latest().job ?? {}
    const outcome = outcomeOf(job, { simulated: bench.simulated, seconds: (endedMs - startedMs) / 1000, record })
    return { outcome, marks: job.log, handMs: hand.busyMs(), startedMs, endedMs }
  } finally {
    for (const closer of closers.toReversed()) await closer()
    stop.abort(new Error('the fast job is over'))
  }
}

async function tooLong(clock: VirtualClock, signal: AbortSignal, session: Session): Promise<never> {
  await clock.sleepUntil(clock.nowMs() + LONGEST_S * 1000, signal)
  const { state, step, guide, because } = session.latest()
  throw new BenchError(
    'SIMULATION_FAILED',
    'simulated job',
    `not done within ${LONGEST_S / 3600} h; at ${step?.id ?? '-'}: ${state}, ${guide.words} ${because}`,
  )
}
