import type { Bench } from '../bench/bench.ts'
import { advanceWatch, emptyFrame, type Watch, watchFrame } from '../core/guidance/watch.ts'
import { knownEffects, NO_EFFECTS } from '../core/homing/effect.ts'
import { actedWords, advance } from '../core/job/job.ts'
import { entriesBetween, type JobEntry } from '../core/job/job-entries.ts'
import { frameOf } from '../core/job/picture/job-view.ts'
import { continueJob, reopenedEntries, restoreJob } from '../core/job/restore-job.ts'
import type { Advance, Job, JobEvent } from '../core/job/state/job-types.ts'
import { planJob } from '../core/plan/job-plan.ts'
import { tripOnReopen } from '../core/plan/raising.ts'
import { plainWords, wordsOf } from '../fault/bench-error.ts'
import type { ChannelPlan } from '../schema/files/channel-plan.ts'
import type { FromPage, LiveFrame } from '../schema/messages/live-frame.ts'
import type { Deps } from '../system/deps.ts'
import { openAttendance } from './attendance.ts'
import { type Broken, brokenFrame, brokenWords, type FrameFacts, supplyViewOf } from './broken-job.ts'
import { openJobList } from './job-list.ts'
import { eventOf, linkNews } from './link-news.ts'
import type { LiveSource } from './live-source.ts'
import type { Offered, OfferedCard, WrongFile } from './offered.ts'
import { performer } from './perform.ts'
import { type JobWriter, keepIn, type Recorder } from './recorder.ts'
import { type Running, writeDown } from './running.ts'
import { chosenFor } from './start-job.ts'
import { openSupplyByHand } from './supply-by-hand.ts'
import { openTimeWatch } from './time-watch.ts'
import { typedIn } from './type-in.ts'
import { watchFor } from './watch-for.ts'
import { welcomeOf } from './welcome.ts'

export interface Session extends LiveSource {
  /** The running job, null while watching; for the table after `job --hand` and for measurements. */
  job(): Job | null
  /** Resting state, oscillator off; what was under way is finished or refused. Idempotent. */
  close(): Promise<void>
}

const TICK_MS = 100
/** States in which only a countdown moves: pictures of them this far apart are enough. A change of state is shown at once. */
const CALM: ReadonlySet<string> = new Set(['read step', 'action', 'settings', 'rest', 'paused', 'stopped', 'finished'])
const CALM_MS = 500
/** Where the times of a record come from; a clock that is made (training at speed) says nothing. */
const TIME_SOURCE = 'Times come from the clock of this computer, in UTC.'
const OK = { ok: true, words: '' } as const

/** The shell round watching and the job: feeds what happens into the pure folds, does what they want, publishes frames. */
export function openSession(about: {
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
}): Session {
  const { bench, procedures, plans, deps, ruleCards = [], recorder = null } = about
  const { clock, log } = deps
  const stopping = new AbortController()
  const listeners = new Set<(frame: LiveFrame) => void>()
  const benchFacts = { name: bench.name, simulated: bench.simulated }
  const closers: (() => void)[] = []
  const attendance = openAttendance(clock)
  const time = openTimeWatch(clock, log)
  const news = linkNews()
  const supplyByHand = openSupplyByHand({ bench, procedures, attendance, log })
  let seq = 0
  let watch: Watch | null = null
  let running: Running | null = null
  let closed: LiveFrame['job'] = null
  let newest: LiveFrame = emptyFrame({ bench: benchFacts, seq }, clock.nowMs())
  let dirty = true
  let publishedMs = clock.nowMs()
  let starting = false
  const jobs = openJobList(recorder)

  const publish = () => {
    seq += 1
    publishedMs = clock.nowMs()
    const facts = { bench: benchFacts, seq }
    newest = running ? jobFrame(running, facts) : (watched(facts) ?? idleFrame(facts))
    dirty = false
    for (const listener of listeners) listener(newest)
  }

  const idleFrame = (facts: FrameFacts): LiveFrame => ({
    ...emptyFrame(facts, clock.nowMs()),
    supply: supplyViewOf(bench.supply.latest()),
    job: closed,
  })

  /** A picture that cannot be drawn stops the job, and its own words are shown. */
  const jobFrame = (of: Running, facts: FrameFacts): LiveFrame => {
    const job = { serial: of.job.plan.serial, id: of.writer?.jobId ?? '', record: '', fingerprint: '' }
    let { broken } = of
    try {
      if (!broken) return frameOf(of.job, { ...facts, job })
    } catch (error) {
      broken = breakDown(of, error)
    }
    return brokenFrame(of.job, broken, { ...facts, job, supply: bench.supply.latest(), atMs: clock.nowMs() })
  }

  /** A watch that cannot be drawn is given up. */
  const watched = (facts: FrameFacts): LiveFrame | null => {
    try {
      return watch && watchFrame(watch, facts)
    } catch (error) {
      giveUpWatch(error)
      return null
    }
  }

  const giveUpWatch = (error: unknown) => {
    log.error({ error }, 'what is watched cannot be shown: it is given up')
    watch = null
  }

  /** A mistake of the program in a job: safe, said and written down; nothing but its end is done any more. */
  const breakDown = (of: Running, error: unknown): Broken => {
    const words = brokenWords(error)
    const broken = { words, sinceMs: clock.nowMs() }
    log.error({ error, step: of.job.open.step.id }, words)
    of.broken = broken
    of.job = { ...of.job, armed: null, phase: { name: 'stopped', words } }
    dirty = true
    bench.watch([])
    of.performer.perform([{ kind: 'safe', why: words }, { kind: 'tone off' }])
    writeDown(of, log, [{ kind: 'event', what: 'stopped', words }])
    return broken
  }

  const feed = (event: JobEvent): { ok: boolean; words: string } | null => {
    if (!running) return null
    if (running.broken) return event.kind === 'request' ? { ok: false, words: running.broken.words } : null
    const before = running.job
    let after: Advance
    try {
      after = advance(before, event, clock.wallTime())
    } catch (error) {
      breakDown(running, error)
      return { ok: false, words: brokenWords(error) }
    }
    const { job, effects, answer } = after
    running.job = job
    writeDown(running, log, entriesBetween(before, job))
    if (event.kind === 'acted')
      writeDown(running, log, [{ kind: 'supply', resting: event.resting, why: actedWords(event) }])
    dirty = true
    running.performer.perform(effects)
    return answer
  }

  const feedWatch = (event: Parameters<typeof advanceWatch>[1]) => {
    if (!watch) return
    dirty = true
    try {
      watch = advanceWatch(watch, event, clock.nowMs())
    } catch (error) {
      giveUpWatch(error)
    }
  }

  closers.push(
    bench.onReading((reading) => {
      const atMs = clock.nowMs()
      feed({ kind: 'reading', reading, atMs })
      feedWatch({ kind: 'reading', reading })
      const shown = running ? running.job.open.step.quantity : watch?.live.quantity
      if (reading.quantity === shown) publish()
    }),
    bench.onSupply((state) => {
      feed({ kind: 'supply', state, atMs: clock.nowMs() })
      feedWatch({ kind: 'supply', state })
      dirty = true
    }),
    bench.onLink((one) => {
      news.keep(one)
      const event = eventOf(one)
      feed({ ...event, atMs: clock.nowMs() })
      feedWatch(event)
      publish()
    }),
    bench.supply.onActed(({ resting, why, proved }) => {
      feed({ kind: 'acted', resting, why, proved, atMs: clock.nowMs() })
      publish()
    }),
    bench.supply.onGone((reason) => {
      feed({ kind: 'acted', resting: 'safe', why: plainWords(reason), proved: false, atMs: clock.nowMs() })
      publish()
    }),
  )

  const lastMark = () => running?.job.log.at(-1)

  const ticking = (async () => {
    for (;;) {
      await clock.sleepUntil(clock.nowMs() + TICK_MS, stopping.signal)
      const before = lastMark()
      for (const words of time.look()) feed({ kind: 'clock', words, atMs: clock.nowMs() })
      feed({ kind: 'tick', atMs: clock.nowMs() })
      feedWatch({ kind: 'tick' })
      if (!running) supplyByHand.leftAlone()
      const last = lastMark()
      const calm = last !== undefined && last === before && CALM.has(last.state)
      if (dirty && (!calm || clock.nowMs() - publishedMs >= CALM_MS)) publish()
    }
  })().catch((error) => {
    if (error !== stopping.signal.reason) throw error
  })

  const startWatching = (asked: Extract<FromPage, { kind: 'watch' }>): { ok: boolean; words: string } => {
    if (running && running.job.phase.name !== 'finished') return { ok: false, words: 'a job is open: close it first' }
    const begun = watchFor(asked, bench, clock.nowMs())
    if (!begun.ok) return begun
    letGo()
    watch = begun.watch
    for (const lost of news.down()) feedWatch(lost)
    bench.watch([watch.live.quantity])
    bench.raiseEpoch('watch')
    return OK
  }

  type Chosen = Pick<Parameters<typeof planJob>[2], 'bands' | 'serial' | 'ruleCard' | 'intake' | 'supplyTrip'>
  const planned = async ({ procedure }: Offered, chosen: Chosen) => {
    const { meters, setsTone, simulated } = bench
    const effects = (await recorder?.learned(procedure.title, simulated)) ?? NO_EFFECTS
    return planJob(procedure, plans, { ...chosen, meters, setsTone, simulated, effects })
  }

  const start = async (asked: Extract<FromPage, { kind: 'start job' }>): Promise<{ ok: boolean; words: string }> => {
    if ((running && running.job.phase.name !== 'finished') || starting)
      return { ok: false, words: 'a job is open already: close it first' }
    const { supplyTrip } = bench
    const chosen = chosenFor(asked, { procedures, ruleCards, plans, supplyTrip })
    if (!chosen.ok) return chosen
    const { offered, card } = chosen
    const { complaint = '', bands, serial, continues = '', intake = null } = asked
    if (continues !== '' && !recorder) return { ok: false, words: 'jobs are not written down on this bench' }
    starting = true
    try {
      const plan = await planned(offered, { bands, serial, ruleCard: card, intake, supplyTrip })
      const begun = (await recorder?.start({ plan, offered, complaint, bands, continues })) ?? null
      const job = continueJob(plan, begun?.earlier ?? [], clock.nowMs(), clock.wallTime())
      run(job, begun?.writer ?? null)
      return OK
    } catch (error) {
      return { ok: false, words: plainWords(error) }
    } finally {
      starting = false
    }
  }

  /** A job that is over, but was not closed: it can be opened again. */
  const letGo = () => {
    running?.writer?.leave()
    running = null
  }

  /** A job at hand from here on. */
  const run = (job: Job, writer: JobWriter | null, first: readonly JobEntry[] = []) => {
    letGo()
    watch = null
    closed = null
    bench.watch([])
    const keep = writer ? keepIn(writer) : null
    const performing = performer({ bench, plan: job.plan, deps, signal: stopping.signal, feed, keep })
    running = { job, performer: performing, writer, written: Promise.resolve(), broken: null }
    writeDown(running, log, first)
    if (clock.bootMs) writeDown(running, log, [{ kind: 'event', what: 'clock', words: TIME_SOURCE }])
    feed({ kind: 'supply', state: bench.supply.latest(), atMs: clock.nowMs() })
    for (const lost of news.down()) feed({ ...lost, atMs: clock.nowMs() })
    const absent = attendance.absent()
    if (absent !== null) feed({ kind: 'page', present: false, why: absent, atMs: clock.nowMs() })
  }

  const reopen = async (asked: Extract<FromPage, { kind: 'reopen job' }>): Promise<{ ok: boolean; words: string }> => {
    if (running || starting) return { ok: false, words: 'a job is open already: close it first' }
    if (!recorder) return { ok: false, words: 'jobs are not written down on this bench' }
    starting = true
    try {
      const {
        offered,
        card,
        serial,
        bands,
        intake,
        supplyTrip: was,
        remembered,
        goOn,
      } = await recorder.reopen(asked.job)
      const { trip } = tripOnReopen(was, bench.supplyTrip)
      const plan = await planned(offered, { bands, serial, ruleCard: card, intake, supplyTrip: trip })
      const job = restoreJob(plan, remembered, clock.nowMs(), clock.wallTime())
      run(job, await goOn(), reopenedEntries(job, remembered, was, bench.supplyTrip))
      return { ok: true, words: 'opened where it stood' }
    } catch (error) {
      return { ok: false, words: plainWords(error) }
    } finally {
      starting = false
      await jobs.look()
    }
  }

  /** The job ends, is written down as closed, and its record is signed. A record that cannot be made is said; the journal stays. */
  const closeJob = async (
    message: Extract<FromPage, { kind: 'close job' }>,
  ): Promise<{ ok: boolean; words: string }> => {
    const closing = running
    const said = closing?.broken ? OK : feed({ kind: 'request', request: message, atMs: clock.nowMs() })
    if (!closing || !said) return { ok: false, words: 'there is no job to close' }
    if (!said.ok) return said
    running = null
    bench.watch([])
    const { writer, job } = closing
    if (!writer) return said
    try {
      await writer.write({
        kind: 'closed',
        keyDownS: job.key.totalS,
        why: closing.broken?.words ?? 'closed by hand',
        effects: knownEffects(job.effects),
      })
      const signed = await writer.sign()
      await closing.performer.idle() // a service that stops next finds the oscillator off
      closed = { serial: job.plan.serial, id: writer.jobId, ...signed }
      await jobs.look()
      return { ok: true, words: `closed; record ${signed.record}` }
    } catch (error) {
      log.error({ fault: wordsOf(error) }, 'no record was made')
      return { ok: false, words: `the job is closed, but no record was made: ${plainWords(error)}` }
    }
  }

  const answer = (message: FromPage): { ok: boolean; words: string } | Promise<{ ok: boolean; words: string }> => {
    switch (message.kind) {
      case 'watch':
        return startWatching(message)
      case 'start job':
        return start(message)
      case 'close job':
        return closeJob(message)
      case 'type in':
        return typedIn(message, bench, running?.job ?? null)
      case 'reopen job':
        return reopen(message)
      case 'supply on':
        if (running) return { ok: false, words: 'a job is open: it sets the supply itself' }
        return supplyByHand.on(message.procedure)
      case 'stop':
        if (running && !running.broken) break
        return supplyByHand.stop()
      default:
        break
    }
    return (
      feed({ kind: 'request', request: message, atMs: clock.nowMs() }) ?? { ok: false, words: 'there is no job open' }
    )
  }

  return {
    latest: () => newest,
    onFrame: (listener) => {
      listeners.add(listener)
      return () => listeners.delete(listener)
    },
    welcome: () => ({
      ...welcomeOf(bench, procedures, ruleCards, about.setPage, clock.wallTime().slice(0, 10)),
      wrongFiles: about.wrongFiles ?? [],
      openJobs: jobs.known().open,
      closedJobs: jobs.known().closed,
    }),
    request: async (message) => {
      const said = await answer(message)
      publish()
      return said
    },
    steererPresent: (present, why) => {
      attendance.tell(present, why)
      feed({ kind: 'page', present, why, atMs: clock.nowMs() })
      publish()
    },
    job: () => running?.job ?? null,
    close: async () => {
      if (stopping.signal.aborted) return
      for (const closer of closers) closer()
      stopping.abort(new Error('the session is closed'))
      await ticking
      await running?.performer.idle()
      await running?.writer?.leave() // what was written last is on disk too
    },
  }
}
