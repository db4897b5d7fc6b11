import type { Bench } from '../bench/bench.ts'
import { goalOf } from '../core/goal.ts'
import { advance, startJob } from '../core/job.ts'
import { planJob } from '../core/job-plan.ts'
import type { Job, JobEvent } from '../core/job-types.ts'
import { frameOf } from '../core/job-view.ts'
import { advanceWatch, emptyFrame, exampleTarget, startWatch, type Watch, watchFrame } from '../core/watch.ts'
import { BenchError, wordsOf } from '../fault/bench-error.ts'
import { readTarget } from '../quantity/parse-target.ts'
import { QUANTITY_NAMES } from '../quantity/quantity.ts'
import type { ChannelPlan } from '../schema/channel-plan.ts'
import type { FromPage, LiveFrame, ToPage } from '../schema/live-frame.ts'
import type { Procedure } from '../schema/procedure-file.ts'
import type { Deps } from '../system/deps.ts'
import type { LiveSource } from './live-source.ts'
import { type Performer, performer, switchOn } from './perform.ts'

/** A procedure that can be started, under the name of its file. */
export interface Offered {
  readonly file: string
  readonly procedure: Procedure
}

export interface Session extends LiveSource {
  /** The running job, null while watching; for the table after `job --hand` and for measurements. */
  job(): Job | null
  /** Resting state, oscillator off; what was under way is finished or refused. Idempotent. */
  close(): Promise<void>
}

interface Running {
  job: Job
  readonly performer: Performer
}

const TICK_MS = 100
const OK = { ok: true, words: '' } as const

/** The shell round watching and the job: feeds what happens into the pure folds, does what they want, publishes frames. */
export function openSession(about: {
  readonly bench: Bench
  readonly procedures: readonly Offered[]
  readonly plans: ReadonlyMap<string, ChannelPlan>
  readonly deps: Pick<Deps, 'clock' | 'log'>
  readonly setPage: string | null
}): Session {
  const { bench, procedures, plans, deps } = about
  const { clock, log } = deps
  const stopping = new AbortController()
  const listeners = new Set<(frame: LiveFrame) => void>()
  const benchFacts = { name: bench.name, simulated: bench.simulated }
  const closers: (() => void)[] = []
  let seq = 0
  let watch: Watch | null = null
  let running: Running | null = null
  let newest: LiveFrame = emptyFrame({ bench: benchFacts, seq }, clock.nowMs())
  let dirty = true

  const publish = () => {
    seq += 1
    const facts = { bench: benchFacts, seq }
    newest = running ? frameOf(running.job, facts) : watch ? watchFrame(watch, facts) : idleFrame(facts)
    dirty = false
    for (const listener of listeners) listener(newest)
  }

  const idleFrame = (facts: { bench: LiveFrame['bench']; seq: number }): LiveFrame => {
    const { volts, amps, output, resting, moving } = bench.supply.latest()
    const supply = { plugVolts: volts, terminalVolts: volts, amps, output, resting, moving, wantedVolts: null }
    return { ...emptyFrame(facts, clock.nowMs()), supply }
  }

  const feed = (event: JobEvent): { ok: boolean; words: string } | null => {
    if (!running) return null
    const before = running.job
    const { job, effects, answer } = advance(before, event, clock.wallTime())
    running.job = job
    dirty = true
    running.performer.perform(effects)
    return answer
  }

  const feedWatch = (event: Parameters<typeof advanceWatch>[1]) => {
    if (!watch) return
    watch = advanceWatch(watch, event, clock.nowMs())
    dirty = true
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
    bench.onLink(({ instrument, up, fault }) => {
      const words = fault ? fault.message : ''
      feed({ kind: 'link', instrument, up, words, atMs: clock.nowMs() })
      feedWatch({ kind: 'link', instrument, up, words })
      publish()
    }),
    bench.supply.onActed(({ resting, why }) => {
      feed({ kind: 'acted', resting, why, atMs: clock.nowMs() })
      publish()
    }),
    bench.supply.onGone((reason) => {
      feed({ kind: 'acted', resting: 'safe', why: wordsOf(reason), atMs: clock.nowMs() })
      publish()
    }),
  )

  const ticking = (async () => {
    for (;;) {
      await clock.sleepUntil(clock.nowMs() + TICK_MS, stopping.signal)
      feed({ kind: 'tick', atMs: clock.nowMs() })
      feedWatch({ kind: 'tick' })
      if (dirty) publish()
    }
  })().catch((error) => {
    if (error !== stopping.signal.reason) throw error
  })

  const startWatching = (asked: Extract<FromPage, { kind: 'watch' }>): { ok: boolean; words: string } => {
    if (running && running.job.phase.name !== 'finished') return { ok: false, words: 'a job is open: close it first' }
    const quantity = QUANTITY_NAMES.find((name) => name === asked.quantity)
    const facts = bench.meters.find((meter) => meter.quantity === quantity)
    if (!quantity || !facts) {
      const fault = new BenchError(
        'BENCH_NOBODY_MEASURES',
        bench.name,
        `nobody on this bench measures ${asked.quantity}`,
      )
      return { ok: false, words: fault.message }
    }
    const target = readTarget(asked.target, quantity)
    if (!target.ok) return { ok: false, words: target.refused }
    const goal = goalOf(target.value, null, { aim: null, rule: null })
    if (!goal) return { ok: false, words: 'which channel? Write the frequency, for example 27.205 MHz +- 150 Hz' }
    running = null
    watch = startWatch(facts, goal, asked.target, clock.nowMs())
    bench.watch([quantity])
    bench.raiseEpoch('watch')
    return OK
  }

  const start = (asked: Extract<FromPage, { kind: 'start job' }>): { ok: boolean; words: string } => {
    if (running && running.job.phase.name !== 'finished')
      return { ok: false, words: 'a job is open already: close it first' }
    const offered = procedures.find(({ file }) => file === asked.procedure)
    if (!offered) return { ok: false, words: `there is no procedure "${asked.procedure}"` }
    const { procedure } = offered
    const missing = Object.values(procedure.bands).find((use) => !plans.has(use.plan))
    if (missing) return { ok: false, words: `there is no channel plan "${missing.plan}" for this procedure` }
    const unknown = asked.bands.find((band) => !(band in procedure.bands))
    if (unknown !== undefined) return { ok: false, words: `"${unknown}" is not one of the bands of this procedure` }
    const plan = planJob(procedure, plans, {
      bands: asked.bands,
      serial: asked.serial,
      meters: bench.meters,
      setsTone: bench.setsTone,
    })
    watch = null
    bench.watch([])
    const performing = performer({
      bench,
      plan,
      deps,
      signal: stopping.signal,
      feed,
      keep: (captured) => log.info({ captured }, 'captured'),
    })
    running = { job: startJob(plan, clock.nowMs(), clock.wallTime()), performer: performing }
    feed({ kind: 'supply', state: bench.supply.latest(), atMs: clock.nowMs() })
    return OK
  }

  /** For looking at a set outside a job: normal voltage of its sheet, never more. A fault is told as an event of the keeper would be. */
  const supplyOn = (file: string): { ok: boolean; words: string } => {
    if (running) return { ok: false, words: 'a job is open: it sets the supply itself' }
    const offered = procedures.find((one) => one.file === file)
    if (!offered) return { ok: false, words: `there is no procedure "${file}" to take the normal voltage from` }
    const { set } = offered.procedure
    switchOn(bench.supply, set).catch((error) => log.warn({ fault: wordsOf(error) }, 'the supply was not switched on'))
    return { ok: true, words: `supply to ${set.supplyVolts} V, trip at ${set.tripVolts} V` }
  }

  const answer = (message: FromPage): { ok: boolean; words: string } => {
    switch (message.kind) {
      case 'watch':
        return startWatching(message)
      case 'start job':
        return start(message)
      case 'close job': {
        const said = feed({ kind: 'request', request: message, atMs: clock.nowMs() })
        running = null
        bench.watch([])
        return said ?? { ok: false, words: 'there is no job to close' }
      }
      case 'supply on':
        return supplyOn(message.procedure)
      case 'stop':
        if (running) break
        bench.supply.safe('stopped by hand').catch((error) => log.error({ fault: wordsOf(error) }, 'stop failed'))
        return { ok: true, words: 'supply off' }
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
    welcome: () => welcomeOf(bench, procedures, about.setPage),
    request: async (message) => {
      const said = answer(message)
      publish()
      return said
    },
    steererPresent: (present, why) => {
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
    },
  }
}

function welcomeOf(
  bench: Bench,
  procedures: readonly Offered[],
  setPage: string | null,
): Extract<ToPage, { kind: 'welcome' }> {
  return {
    kind: 'welcome',
    format: 1,
    bench: { name: bench.name, simulated: bench.simulated },
    measures: bench.meters.map(({ quantity, instrument }) => ({
      quantity,
      instrument,
      example: exampleTarget(quantity),
    })),
    procedures: procedures.map(({ file, procedure }) => ({
      file,
      title: procedure.title,
      bands: Object.entries(procedure.bands).map(([id, use]) => ({ id, words: use.words, use: use.use })),
    })),
    setPage,
  }
}
