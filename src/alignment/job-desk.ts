import type { Bench } from '../bench/bench.ts'
import { knownEffects, NO_EFFECTS } from '../core/homing/effect.ts'
import type { JobEntry } from '../core/job/job-entries.ts'
import { continueJob, reopenedEntries, restoreJob } from '../core/job/restore-job.ts'
import type { Job } from '../core/job/state/job-types.ts'
import { planJob } from '../core/plan/job-plan.ts'
import { tripOnReopen } from '../core/plan/raising.ts'
import { plainWords, wordsOf } from '../fault/bench-error.ts'
import type { ChannelPlan } from '../schema/files/channel-plan.ts'
import type { FromPage, LiveFrame } from '../schema/messages/live-frame.ts'
import type { Deps } from '../system/deps.ts'
import { said, type Words } from '../words/said/said.ts'
import type { JobList } from './job-list.ts'
import type { JobRunner, Running } from './job-runner.ts'
import type { Answer } from './live-source.ts'
import type { Offered, OfferedCard } from './offered.ts'
import type { JobWriter, Recorder } from './recorder.ts'
import { chosenFor } from './start-job.ts'
import type { Watching } from './watching.ts'

/** What the desk works with. */
export interface DeskNeeds {
  readonly bench: Bench
  readonly procedures: readonly Offered[]
  readonly plans: ReadonlyMap<string, ChannelPlan>
  readonly ruleCards: readonly OfferedCard[]
  /** Null where jobs are only shown. */
  readonly recorder: Recorder | null
  readonly deps: Pick<Deps, 'clock' | 'log'>
  readonly runner: JobRunner
  readonly watching: Watching
  readonly jobs: JobList
}

type Chosen = Pick<Parameters<typeof planJob>[2], 'bands' | 'serial' | 'ruleCard' | 'intake' | 'supplyTrip'>

const OK: Answer = { ok: true, words: '' }
const refuse = (words: Words): Answer => ({ ok: false, words })
const NO_JOURNALS = refuse('jobs are not written down on this bench')
const OPEN_ALREADY = refuse('a job is open already: close it first')

/** Where jobs begin, go on and end: plans them, has them written down, and gives them to the runner. One at a time. */
export class JobDesk {
  readonly #needs: DeskNeeds
  #starting = false
  #closed: LiveFrame['job'] = null

  constructor(needs: DeskNeeds) {
    this.#needs = needs
  }

  /** The job that was closed last, with its record; null when another one has begun since. */
  get closed(): LiveFrame['job'] {
    return this.#closed
  }

  async start(asked: Extract<FromPage, { kind: 'start job' }>): Promise<Answer> {
    const { bench, procedures, plans, ruleCards, recorder, deps, runner } = this.#needs
    if (runner.isOpen || this.#starting) return OPEN_ALREADY
    const { supplyTrip } = bench
    const chosen = chosenFor(asked, { procedures, ruleCards, plans, supplyTrip })
    if (!chosen.ok) return chosen
    const { offered, card } = chosen
    const { complaint = '', bands, serial, continues = '', intake = null } = asked
    if (continues !== '' && !recorder) return NO_JOURNALS
    this.#starting = true
    try {
      const plan = await this.#planned(offered, { bands, serial, ruleCard: card, intake, supplyTrip })
      const begun = (await recorder?.start({ plan, offered, complaint, bands, continues })) ?? null
      const job = continueJob(plan, begun?.earlier ?? [], deps.clock.nowMs(), deps.clock.wallTime())
      this.#run(job, begun?.writer ?? null)
      return OK
    } catch (error) {
      return refuse(plainWords(error))
    } finally {
      this.#starting = false
    }
  }

  async reopen(asked: Extract<FromPage, { kind: 'reopen job' }>): Promise<Answer> {
    const { bench, recorder, deps, runner, jobs } = this.#needs
    if (runner.atHand || this.#starting) return OPEN_ALREADY
    if (!recorder) return NO_JOURNALS
    this.#starting = true
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
      const plan = await this.#planned(offered, { bands, serial, ruleCard: card, intake, supplyTrip: trip })
      const job = restoreJob(plan, remembered, deps.clock.nowMs(), deps.clock.wallTime())
      this.#run(job, await goOn(), reopenedEntries(job, remembered, was, bench.supplyTrip))
      return { ok: true, words: 'opened where it stood' }
    } catch (error) {
      return refuse(plainWords(error))
    } finally {
      this.#starting = false
      await jobs.look()
    }
  }

  /** The job ends, is written down as closed, and its record is signed. A record that cannot be made is said; the journal stays. */
  async close(message: Extract<FromPage, { kind: 'close job' }>): Promise<Answer> {
    const { deps, runner } = this.#needs
    const closing = runner.atHand
    const said = closing?.broken ? OK : runner.feed({ kind: 'request', request: message, atMs: deps.clock.nowMs() })
    if (!closing || !said) return refuse('there is no job to close')
    if (!said.ok) return said
    runner.drop()
    const { writer } = closing
    return writer ? this.#sign(closing, writer) : said
  }

  async #sign({ job, broken, performer }: Running, writer: JobWriter): Promise<Answer> {
    try {
      await writer.write({
        kind: 'closed',
        keyDownS: job.key.totalS,
        why: broken?.words ?? 'closed by hand',
        effects: knownEffects(job.effects),
      })
      const signed = await writer.sign()
      await performer.idle() // a service that stops next finds the oscillator off
      this.#closed = { serial: job.plan.serial, id: writer.jobId, ...signed }
      await this.#needs.jobs.look()
      return { ok: true, words: `closed; record ${signed.record}` }
    } catch (error) {
      this.#needs.deps.log.error({ fault: wordsOf(error) }, 'no record was made')
      return refuse(said('desk.closed-no-record', { why: plainWords(error) }))
    }
  }

  async #planned({ procedure }: Offered, chosen: Chosen) {
    const { plans, recorder } = this.#needs
    const { meters, simulated } = this.#needs.bench
    const setsTone = this.#needs.bench.source('audio tone').there
    const effects = (await recorder?.learned(procedure.title, simulated)) ?? NO_EFFECTS
    return planJob(procedure, plans, { ...chosen, meters, setsTone, simulated, effects })
  }

  #run(job: Job, writer: JobWriter | null, first: readonly JobEntry[] = []): void {
    this.#needs.watching.end()
    this.#closed = null
    this.#needs.runner.begin(job, writer, first)
  }
}
