import type { Bench, Wish } from '../bench/bench.ts'
import type { Effect, JobEvent } from '../core/job/state/job-types.ts'
import type { JobPlan } from '../core/plan/lines.ts'
import type { Kept } from '../core/reading/capture.ts'
import { plainWords, wordsOf } from '../fault/bench-error.ts'
import type { Procedure } from '../schema/files/procedure-file.ts'
import type { Signal } from '../schema/files/sources.ts'
import type { Deps } from '../system/deps.ts'
import type { Words } from '../words/said/said.ts'

/** Does what the job's state machine wants and feeds back what came of it. Nothing else turns a knob. */
export interface Performer {
  perform(effects: readonly Effect[]): void
  /** Everything asked so far is done or refused. */
  idle(): Promise<void>
}

/** Limits and trip, normal voltage, output on, each read back by the keeper before the next. */
export async function switchOn(wish: Wish, set: Procedure['set'], amps = set.receiveAmps): Promise<void> {
  await wish.limits({
    ceilingVolts: set.ceilingVolts,
    tripVolts: set.tripVolts,
    ceilingAmps: set.limitAmps,
    normalVolts: set.supplyVolts,
    receiveAmps: set.receiveAmps,
    keyedAboveAmps: set.keyedAboveAmps,
  })
  await wish.set(set.supplyVolts, amps)
  await wish.on()
}

/** A tone of a step as a signal of the bench: Hz, V r.m.s. at the microphone socket. */
function toneSignal({ hz, volts }: { readonly hz: number; readonly volts: number }): Signal {
  return { 'audio tone': hz, 'audio level': volts }
}

/** What a performer works with. */
export interface PerformerNeeds {
  readonly bench: Bench
  readonly plan: JobPlan
  readonly deps: Pick<Deps, 'clock' | 'log'>
  /** Ends what is under way when the service stops. */
  readonly signal: AbortSignal
  /** Takes events at once, in order. */
  readonly feed: (event: JobEvent) => void
  /** Writes values down; null where nobody keeps a journal. */
  readonly keep: ((taken: readonly Kept[]) => Promise<void>) | null
}

type Arm = Extract<Effect, { kind: 'arm' }>

/** Each step of it is refused once the wish has ended, whenever its turn comes. */
async function arm(about: PerformerNeeds, tone: ReturnType<Bench['source']>, effect: Arm, wish: Wish): Promise<void> {
  const { plan, deps, signal, feed } = about
  const { clock } = deps
  const { set } = plan.procedure
  try {
    if (effect.start) await switchOn(wish, set)
    if (wish.live && (effect.tone || plan.setsTone)) await tone.set(effect.tone && toneSignal(effect.tone), signal)
    if (!effect.toneOnly) await wish.set(effect.volts, effect.amps)
    feed({ kind: 'armed', id: effect.id, ok: true, words: '', atMs: clock.nowMs() })
  } catch (error) {
    feed({ kind: 'armed', id: effect.id, ok: false, words: plainWords(error), atMs: clock.nowMs() })
  }
}

/** A resting state that cannot be reached is a reason for the safer one. */
function rest({ bench, deps, feed }: PerformerNeeds, resting: 'normal' | 'safe', why: Words): void {
  const { clock, log } = deps
  const asked = resting === 'normal' ? bench.supply.normal(why) : bench.supply.safe(why)
  asked.catch((error) => {
    log.error({ resting, why, fault: wordsOf(error) }, 'the supply did not go to its resting state')
    const words = plainWords(error)
    if (resting === 'normal')
      bench.supply.safe(words).catch((worse) => log.error({ fault: wordsOf(worse) }, 'nor to safe'))
    feed({ kind: 'acted', resting: 'safe', why: words, proved: false, atMs: clock.nowMs() })
  })
}

/** Nothing is asked of the bench before the job wants it. */
export function performer(about: PerformerNeeds): Performer {
  const { bench, plan, deps, signal, feed, keep } = about
  const { clock, log } = deps
  const tone = bench.source('audio tone')
  let chain: Promise<void> = Promise.resolve()

  /** The oscillator and an arming go one after the other; safe and normal never wait behind them. */
  const inTurn = (what: string, task: () => Promise<void>) => {
    chain = chain.then(task).catch((error) => log.warn({ what, fault: wordsOf(error) }, 'an effect failed'))
  }

  /** The wish begins now, not at its turn: what ends it may come before. */
  const armInTurn = (effect: Arm) => {
    const wish = bench.supply.wish()
    inTurn('arm', () => arm(about, tone, effect, wish))
  }

  /** Said to be captured only when it is written down. */
  const keepAll = (taken: readonly Kept[]) => {
    const say = (ok: boolean, words: Words) => feed({ kind: 'kept', ok, words, atMs: clock.nowMs() })
    if (!keep) return say(true, '')
    keep(taken).then(
      () => say(true, ''),
      (error) => say(false, plainWords(error)),
    )
  }

  return {
    perform: (effects) => {
      for (const effect of effects) {
        switch (effect.kind) {
          case 'raise epoch': {
            const epoch = bench.raiseEpoch(effect.cause)
            feed({ kind: 'changed', cause: effect.cause, epoch, atMs: clock.nowMs() })
            break
          }
          case 'watch':
            bench.watch(effect.quantities)
            break
          case 'normal':
          case 'safe':
            rest(about, effect.kind, effect.why)
            break
          case 'tone off':
            if (plan.setsTone) inTurn('tone off', () => tone.set(null, signal))
            break
          case 'arm':
            armInTurn(effect)
            break
          case 'keep':
            keepAll(effect.taken)
            break
          default:
            effect satisfies never
        }
      }
    },
    idle: () => chain,
  }
}
