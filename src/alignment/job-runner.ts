import type { Bench } from '../bench/bench.ts'
import { actedWords, advance } from '../core/job/job.ts'
import { entriesBetween, type JobEntry } from '../core/job/job-entries.ts'
import { frameOf } from '../core/job/picture/job-view.ts'
import type { Advance, Job, JobEvent } from '../core/job/state/job-types.ts'
import { wordsOf } from '../fault/bench-error.ts'
import type { LiveFrame } from '../schema/messages/live-frame.ts'
import type { Deps } from '../system/deps.ts'
import type { Log } from '../system/log.ts'
import type { Attendance } from './attendance.ts'
import { type Broken, brokenFrame, brokenWords, type FrameFacts } from './broken-job.ts'
import type { LinkEvent } from './link-news.ts'
import type { Answer } from './live-source.ts'
import { type Performer, performer } from './perform.ts'
import { type JobWriter, keepIn } from './recorder.ts'

/** Where the times of a record come from; a clock that is made (training at speed) says nothing. */
const TIME_SOURCE = 'Times come from the clock of this computer, in UTC.'

/** The job at hand, with who carries out what it wants and where it is written down. */
export interface Running {
  job: Job
  readonly performer: Performer
  readonly writer: JobWriter | null
  /** The newest entry on its way to the journal. */
  written: Promise<void>
  /** Why it cannot go on, by a mistake of the program, and since when; null while it can. What was read is kept. */
  broken: Broken | null
}

/** What a runner works with. */
export interface RunnerNeeds {
  readonly bench: Bench
  readonly deps: Pick<Deps, 'clock' | 'log'>
  /** Ends what is under way when the service stops. */
  readonly signal: AbortSignal
  readonly attendance: Attendance
  /** Instruments that do not answer now. */
  readonly down: () => readonly LinkEvent[]
  /** Told of every change that a picture would show. */
  readonly touched: () => void
}

/** Runs the job at hand: feeds what happens into the fold, has done what it wants, writes down what came of it. */
export class JobRunner {
  readonly #needs: RunnerNeeds
  #running: Running | null = null

  constructor(needs: RunnerNeeds) {
    this.#needs = needs
  }

  /** Null while none is at hand. */
  get atHand(): Running | null {
    return this.#running
  }

  /** A job is at hand, and not over yet. */
  get isOpen(): boolean {
    return this.#running !== null && this.#running.job.phase.name !== 'finished'
  }

  /** A job at hand from here on. `first` are entries that its journal does not have yet. */
  begin(job: Job, writer: JobWriter | null, first: readonly JobEntry[]): void {
    const { bench, deps, signal, attendance, down } = this.#needs
    const { clock, log } = deps
    this.letGo()
    bench.watch([])
    const keep = writer ? keepIn(writer) : null
    const feed = (event: JobEvent) => void this.feed(event)
    const performing = performer({ bench, plan: job.plan, deps, signal, feed, keep })
    this.#running = { job, performer: performing, writer, written: Promise.resolve(), broken: null }
    writeDown(this.#running, log, first)
    if (clock.bootMs) writeDown(this.#running, log, [{ kind: 'event', what: 'clock', words: TIME_SOURCE }])
    feed({ kind: 'supply', state: bench.supply.latest(), atMs: clock.nowMs() })
    for (const lost of down()) feed({ ...lost, atMs: clock.nowMs() })
    const absent = attendance.absent()
    if (absent !== null) feed({ kind: 'page', present: false, why: absent, atMs: clock.nowMs() })
  }

  /** One event further; what a request is answered, and null where no job is at hand or nobody asked. */
  feed(event: JobEvent): Answer | null {
    const running = this.#running
    if (!running) return null
    if (running.broken) return event.kind === 'request' ? { ok: false, words: running.broken.words } : null
    const { clock, log } = this.#needs.deps
    const before = running.job
    let after: Advance
    try {
      after = advance(before, event, clock.wallTime())
    } catch (error) {
      this.#breakDown(running, error)
      return { ok: false, words: brokenWords(error) }
    }
    const { job, effects, answer } = after
    running.job = job
    writeDown(running, log, entriesBetween(before, job))
    if (event.kind === 'acted')
      writeDown(running, log, [{ kind: 'supply', resting: event.resting, why: actedWords(event) }])
    this.#needs.touched()
    running.performer.perform(effects)
    return answer
  }

  /** A job that is over, but was not closed: it can be opened again. */
  letGo(): void {
    this.#running?.writer?.leave()
    this.#running = null
  }

  /** A job that is closed: nothing is read for it any more. Its end is still to be written down. */
  drop(): void {
    this.#running = null
    this.#needs.bench.watch([])
  }

  /** Null while no job is at hand. A picture that cannot be drawn stops the job, and its own words are shown. */
  frame(facts: FrameFacts): LiveFrame | null {
    const of = this.#running
    if (!of) return null
    const job = { serial: of.job.plan.serial, id: of.writer?.jobId ?? '', record: '', fingerprint: '' }
    let { broken } = of
    try {
      if (!broken) return frameOf(of.job, { ...facts, job })
    } catch (error) {
      broken = this.#breakDown(of, error)
    }
    const { bench, deps } = this.#needs
    return brokenFrame(of.job, broken, { ...facts, job, supply: bench.supply.latest(), atMs: deps.clock.nowMs() })
  }

  /** A mistake of the program in a job: safe, said and written down; nothing but its end is done any more. */
  #breakDown(of: Running, error: unknown): Broken {
    const { bench, deps, touched } = this.#needs
    const { clock, log } = deps
    const words = brokenWords(error)
    const broken = { words, sinceMs: clock.nowMs() }
    log.error({ error, step: of.job.open.step.id }, words)
    of.broken = broken
    of.job = { ...of.job, armed: null, phase: { name: 'stopped', words } }
    touched()
    bench.watch([])
    of.performer.perform([{ kind: 'safe', why: words }, { kind: 'tone off' }])
    writeDown(of, log, [{ kind: 'event', what: 'stopped', words }])
    return broken
  }
}

/** A journal that cannot be written is told when the next value is to be kept: that one waits for it. */
function writeDown(into: Running, log: Log, entries: readonly JobEntry[]): void {
  for (const entry of entries) {
    into.written = into.writer?.write(entry) ?? into.written
    into.written.catch((error) => log.error({ fault: wordsOf(error), entry: entry.kind }, 'not written down'))
  }
}
