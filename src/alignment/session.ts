import type { Bench } from '../bench/bench.ts'
import { emptyFrame } from '../core/guidance/watch.ts'
import type { Job } from '../core/job/state/job-types.ts'
import { plainWords } from '../fault/bench-error.ts'
import type { ChannelPlan } from '../schema/files/channel-plan.ts'
import type { FromPage } from '../schema/messages/live-frame.ts'
import type { Deps } from '../system/deps.ts'
import { type Attendance, openAttendance } from './attendance.ts'
import { supplyViewOf } from './broken-job.ts'
import { JobDesk } from './job-desk.ts'
import { type JobList, openJobList } from './job-list.ts'
import { JobRunner } from './job-runner.ts'
import { eventOf, linkNews } from './link-news.ts'
import type { Answer, LiveSource } from './live-source.ts'
import type { Offered, OfferedCard, WrongFile } from './offered.ts'
import { Publisher } from './publisher.ts'
import type { Recorder } from './recorder.ts'
import { openSupplyByHand, type SupplyByHand } from './supply-by-hand.ts'
import { openTimeWatch } from './time-watch.ts'
import { typedIn } from './type-in.ts'
import { openWatching, type Watching, watchFor } from './watching.ts'
import { welcomeOf } from './welcome.ts'

export interface Session extends LiveSource {
  /** The running job, null while watching; for the table after `job --hand` and for measurements. */
  job(): Job | null
  /** Resting state, oscillator off; what was under way is finished or refused. Idempotent. */
  close(): Promise<void>
}

export interface SessionNeeds {
  readonly bench: Bench
  readonly procedures: readonly Offered[]
  readonly plans: ReadonlyMap<string, ChannelPlan>
  readonly deps: Pick<Deps, 'clock' | 'log'>
  readonly setPage: string | null
  readonly ruleCards?: readonly OfferedCard[]
  /** Files that stand beside the offered ones and are wrong. */
  readonly wrongFiles?: readonly WrongFile[]
  /** Where jobs are written down; none: they are only shown. */
  readonly recorder?: Recorder
}

/** The parts of a session, each with the state that is its own. */
interface Parts {
  readonly bench: Bench
  readonly clock: Deps['clock']
  readonly time: ReturnType<typeof openTimeWatch>
  readonly news: ReturnType<typeof linkNews>
  readonly attendance: Attendance
  readonly supplyByHand: SupplyByHand
  readonly watching: Watching
  readonly runner: JobRunner
  readonly desk: JobDesk
  readonly jobs: JobList
  readonly publisher: Publisher
}

const TICK_MS = 100

/** The shell round watching and the job: feeds what happens into the pure folds, does what they want, publishes frames. */
export function openSession(about: SessionNeeds): Session {
  const { bench, procedures, ruleCards = [], wrongFiles = [], setPage, deps } = about
  const stopping = new AbortController()
  const parts = openParts(about, stopping.signal)
  const { attendance, runner, jobs, publisher } = parts
  const deafen = hearBench(parts)
  const ticking = keepTicking(parts, stopping.signal)
  return {
    latest: () => publisher.latest(),
    onFrame: (listener) => publisher.onFrame(listener),
    welcome: () => ({
      ...welcomeOf(bench, procedures, ruleCards, setPage, deps.clock.wallTime().slice(0, 10)),
      wrongFiles,
      openJobs: jobs.known().open,
      closedJobs: jobs.known().closed,
    }),
    request: async (message) => {
      const said = await answerTo(parts, message)
      publisher.publish()
      return said
    },
    steererPresent: (present, why) => {
      attendance.tell(present, why)
      runner.feed({ kind: 'page', present, why, atMs: deps.clock.nowMs() })
      publisher.publish()
    },
    job: () => runner.atHand?.job ?? null,
    close: async () => {
      if (stopping.signal.aborted) return
      deafen()
      stopping.abort(new Error('the session is closed'))
      await ticking
      await runner.atHand?.performer.idle()
      await runner.atHand?.writer?.leave() // what was written last is on disk too
    },
  }
}

function openParts(about: SessionNeeds, signal: AbortSignal): Parts {
  const { bench, procedures, plans, deps, ruleCards = [], recorder = null } = about
  const { clock, log } = deps
  const attendance = openAttendance(clock)
  const time = openTimeWatch(clock, log)
  const news = linkNews()
  const supplyByHand = openSupplyByHand({ bench, procedures, attendance, log })
  const touched = () => publisher.touch()
  const watching = openWatching(deps, touched)
  const runner = new JobRunner({ bench, deps, signal, attendance, down: news.down, touched })
  const publisher: Publisher = new Publisher(
    clock,
    { name: bench.name, simulated: bench.simulated },
    (facts) =>
      runner.frame(facts) ??
      watching.frame(facts) ?? {
        ...emptyFrame(facts, clock.nowMs()),
        supply: supplyViewOf(bench.supply.latest()),
        job: desk.closed,
      },
  )
  const jobs = openJobList(recorder)
  const desk = new JobDesk({ bench, procedures, plans, ruleCards, recorder, deps, runner, watching, jobs })
  return { bench, clock, time, news, attendance, supplyByHand, watching, runner, desk, jobs, publisher }
}

/** What the bench tells goes to the job and to the watch. Gives back how to stop hearing it. */
function hearBench({ bench, clock, news, watching, runner, publisher }: Parts): () => void {
  const closers = [
    bench.onReading((reading) => {
      const atMs = clock.nowMs()
      runner.feed({ kind: 'reading', reading, atMs })
      watching.feed({ kind: 'reading', reading })
      const shown = runner.atHand ? runner.atHand.job.open.step.quantity : watching.quantity()
      if (reading.quantity === shown) publisher.publish()
    }),
    bench.onSupply((state) => {
      runner.feed({ kind: 'supply', state, atMs: clock.nowMs() })
      watching.feed({ kind: 'supply', state })
      publisher.touch()
    }),
    bench.onLink((one) => {
      news.keep(one)
      const event = eventOf(one)
      runner.feed({ ...event, atMs: clock.nowMs() })
      watching.feed(event)
      publisher.publish()
    }),
    bench.supply.onActed(({ resting, why, proved }) => {
      runner.feed({ kind: 'acted', resting, why, proved, atMs: clock.nowMs() })
      publisher.publish()
    }),
    bench.supply.onGone((reason) => {
      const why = plainWords(reason)
      runner.feed({ kind: 'acted', resting: 'safe', why, proved: false, atMs: clock.nowMs() })
      publisher.publish()
    }),
  ]
  return () => {
    for (const closer of closers) closer()
  }
}

/** Time goes on for the job, for the watch and for a supply that nobody is at. Ends with `signal`, and does not reject for it. */
async function keepTicking(parts: Parts, signal: AbortSignal): Promise<void> {
  const { clock, time, supplyByHand, watching, runner, publisher } = parts
  const lastMark = () => runner.atHand?.job.log.at(-1)
  try {
    for (;;) {
      await clock.sleepUntil(clock.nowMs() + TICK_MS, signal)
      const before = lastMark()
      for (const words of time.look()) runner.feed({ kind: 'clock', words, atMs: clock.nowMs() })
      runner.feed({ kind: 'tick', atMs: clock.nowMs() })
      watching.feed({ kind: 'tick' })
      if (!runner.atHand) supplyByHand.leftAlone()
      const last = lastMark()
      publisher.tick(last !== undefined && last === before ? last.state : null)
    }
  } catch (error) {
    if (error !== signal.reason) throw error
  }
}

/** What the steering page asks: done by whoever it is for; whatever is left is a request to the job. */
function answerTo(parts: Parts, message: FromPage): Answer | Promise<Answer> {
  const { bench, clock, supplyByHand, runner, desk } = parts
  switch (message.kind) {
    case 'watch':
      return startWatching(parts, message)
    case 'start job':
      return desk.start(message)
    case 'close job':
      return desk.close(message)
    case 'type in':
      return typedIn(message, bench, runner.atHand?.job ?? null)
    case 'reopen job':
      return desk.reopen(message)
    case 'supply on':
      if (runner.atHand) return { ok: false, words: 'a job is open: it sets the supply itself' }
      return supplyByHand.on(message.procedure)
    case 'stop':
      if (runner.atHand && !runner.atHand.broken) break
      return supplyByHand.stop()
    default:
      break
  }
  const said = runner.feed({ kind: 'request', request: message, atMs: clock.nowMs() })
  return said ?? { ok: false, words: 'there is no job open' }
}

function startWatching(parts: Parts, asked: Extract<FromPage, { kind: 'watch' }>): Answer {
  const { bench, clock, news, watching, runner } = parts
  if (runner.isOpen) return { ok: false, words: 'a job is open: close it first' }
  const begun = watchFor(asked, bench, clock.nowMs())
  if (!begun.ok) return begun
  runner.letGo()
  watching.begin(begun.watch)
  for (const lost of news.down()) watching.feed(lost)
  bench.watch([begun.watch.live.quantity])
  bench.raiseEpoch('watch')
  return { ok: true, words: '' }
}
