import { basename } from 'node:path'
import { createHand } from '../../../mocks/hand/hand.ts'
import type { SimulatedBench } from '../../../mocks/simulated-bench.ts'
import type { Session } from '../../alignment/session.ts'
import { BenchError } from '../../fault/bench-error.ts'
import type { FromPage, LiveFrame } from '../../schema/messages/live-frame.ts'
import { type VirtualClock, virtualClock } from '../../system/virtual-clock.ts'
import { ENGLISH } from '../../words/english/english.ts'
import { said, type Words } from '../../words/said/said.ts'
import { worded, wordedInTurn } from '../../words/sentence/sentence.ts'
import { type FastBenchChoice, openFastBench } from './fast-bench.ts'
import { finished, type JobOutcome, outcomeOf, supplyCautions } from './job-outcome.ts'

/** Where a fast job's time went, bench milliseconds: the job's own marks and the intervals in which the hand was acting. */
export interface FastRun {
  readonly outcome: JobOutcome
  readonly marks: readonly { readonly atMs: number; readonly step: string; readonly state: string }[]
  readonly handMs: readonly (readonly [from: number, to: number])[]
  readonly startedMs: number
  readonly endedMs: number
}

export interface FastChoice extends FastBenchChoice {
  readonly bands: readonly string[]
  /** A rule card's file under procedures/rules; null: none. */
  readonly rules?: string | null
  /** A closed job of the same serial; "" or absent: none. */
  readonly continues?: string
  /** SIM-1 unless given. */
  readonly serial?: string
  /** Told before the job is begun what a person has to know of the supply. */
  readonly onCaution?: (words: Words) => void
  readonly onFrame?: (frame: LiveFrame, request: (message: FromPage) => void) => void
  /** The simulated world, before the job starts: for faults that are to strike in it. */
  readonly onWorld?: (world: SimulatedBench) => void
}

/** Longest a job may take on its own clock; longer means that it is stuck. */
const LONGEST_S = 3 * 3600

/** The whole bench, keeper and simulated radio in this process, on a clock that jumps. Throws what the parts throw, or SIMULATION_FAILED when the job does not end. */
export function runFast(choice: FastChoice): Promise<FastRun> {
  const clock = virtualClock()
  return clock.runUntil(wholeJob(choice, clock))
}

async function wholeJob(choice: FastChoice, clock: VirtualClock): Promise<FastRun> {
  const fast = await openFastBench(choice, clock)
  const { bench, offered, recorder, rng, session, signal, world } = fast
  try {
    choice.onWorld?.(world)
    const request = (message: FromPage) =>
      void session
        .request(message)
        .then((answer) => hand.onAnswer(worded({ id: 'id' in message ? message.id : '', ...answer }, ENGLISH)))
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
    const inEnglish = wordedInTurn(ENGLISH)
    session.onFrame((frame) => {
      choice.onFrame?.(frame, request)
      hand.onFrame(inEnglish(frame)) // the simulated hand reads English, whatever is spoken here
    })
    for (const words of supplyCautions(bench, offered, clock)) choice.onCaution?.(words)
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
    await fast.close()
  }
}

async function tooLong(clock: VirtualClock, signal: AbortSignal, session: Session): Promise<never> {
  await clock.sleepUntil(clock.nowMs() + LONGEST_S * 1000, signal)
  const { state, step, guide, because } = session.latest()
  throw new BenchError(
    'SIMULATION_FAILED',
    'simulated job',
    said('command.job-too-long', {
      hours: LONGEST_S / 3600,
      step: step?.id ?? '-',
      state,
      guide: guide.words,
      because,
    }),
  )
}
