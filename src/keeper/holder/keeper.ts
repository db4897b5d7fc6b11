import { happenedOf, wordsOf } from '../../fault/bench-error.ts'
import type { SupplyPort } from '../../instrument/supply-port.ts'
import type { FromKeeper, ToKeeper } from '../../schema/messages/keeper-message.ts'
import type { Clock } from '../../system/clock.ts'
import type { Log } from '../../system/log.ts'
import type { Wait } from '../../transport/link.ts'
import { said, type Words } from '../../words/said/said.ts'
import { sentence } from '../../words/sentence/sentence.ts'
import { keep } from '../rules/keep.ts'
import type { KeeperEvent } from '../rules/keeper-event.ts'
import { tripRuleOf } from '../rules/keeper-limits.ts'
import {
  type Act,
  KEEPER,
  type KeeperNote,
  type KeeperRules,
  type KeeperState,
  startedKeeper,
} from '../rules/keeper-state.ts'
import { beatDueMs, urgent, wanted } from '../rules/keeper-wanted.ts'
import { lastResort } from '../rules/last-resort.ts'
import { seconds } from '../rules/seconds.ts'
import { type ActsNeeds, KeeperActs } from './keeper-acts.ts'
import { punctual } from './punctual.ts'
import { codeOf, openSeat } from './supply-seat.ts'

/** What a keeper works with. `port` is taken over and closed by it. */
export interface KeeperNeeds {
  readonly port: SupplyPort
  /** A new connection to the same supply; null where there is no way to get one. */
  readonly reopen: ((wait: Wait) => Promise<SupplyPort>) | null
  readonly rules: KeeperRules
  /** Where the bench file's external crowbar trips; none where it is left out. Counts where the port has no trip of its own. */
  readonly crowbarVolts?: number | undefined
  readonly clock: Clock
  /** ms, on the scale of `clock`, of a clock that runs on while the computer sleeps. */
  readonly bootMs: () => number
  /** Why the output must go off before anything is looked at; left out, the keeper looks first. */
  readonly offFirst?: Words
  /** What speaks against any act but off and look at this moment, in words; asked before each. */
  readonly against?: () => Words | null
  readonly say: (message: FromKeeper) => void
  readonly note: (note: KeeperNote) => void
  readonly log: Log
}

/** A keeper at work. */
export interface Keeper {
  hear(request: ToKeeper): void
  /** A standby is heard, or is not heard any more. */
  standby(present: boolean): void
  /** Pipe closed, told to end, something broke: safe, then the end. */
  leave(why: Words): void
  /** Resolves when the keeper is through: whether the output was proved off. Never rejects. */
  readonly ended: Promise<{ readonly proved: boolean }>
}

const TICK_MS = 100

/** Puts the keeper to work on an open supply: it makes it safe first. Acts on the supply go one after the other; "off" waits for nobody. */
export function runKeeper(needs: KeeperNeeds): Keeper {
  const { clock } = needs
  const seat = openSeat(needs.port, needs.reopen, needs)
  const over = new AbortController()
  let state: KeeperState = startedKeeper(rulesOf(needs), clock.nowMs(), needs.offFirst)
  let resting: { readonly untilMs: number; readonly nudge: AbortController } | null = null
  let tickedMs = clock.nowMs()
  let broken: { readonly error: unknown } | null = null

  const feed = (event: KeeperEvent) => {
    if (broken) return
    try {
      const kept = keep(state, event)
      state = kept.state
      for (const note of kept.notes) needs.note(note)
      for (const message of kept.says) needs.say(message)
    } catch (error) {
      broken = { error }
      acts.cutShort()
    }
    wake()
    acts.hurry(() => urgent(state, clock.nowMs()))
  }

  /** Ends a rest that is now too long; most ticks change nothing, and those let it be. */
  const wake = () => {
    if (!resting) return
    const next = broken ? null : wanted(state, clock.nowMs())
    if (next?.do !== 'rest' || next.untilMs < resting.untilMs) resting.nudge.abort(NUDGED)
  }

  /** A keeper that stood still, or does not hold the supply any more, only switches off. */
  const against = (act: Act): Words | null => {
    if (act.do === 'off' || act.do === 'look') return null
    const oldMs = clock.nowMs() - tickedMs
    if (oldMs > needs.rules.staleMs) return said('keeper.stood-still', { time: seconds(oldMs) })
    return needs.against?.() ?? null
  }

  const acts = actsOf(needs, { seat, against, feed, over: over.signal })

  const work = async () => {
    for (;;) {
      if (broken) return broke(broken.error, { needs, acts, state, over: over.signal })
      const next = wanted(state, clock.nowMs())
      if (next.do === 'end') return { proved: next.proved }
      if (next.do === 'act') await acts.perform(next.act)
      else {
        const nudge = new AbortController()
        resting = { untilMs: next.untilMs, nudge }
        await clock.sleepUntil(next.untilMs, nudge.signal).catch(() => {})
        resting = null
      }
    }
  }

  const tick = async () => {
    for (;;) {
      const nowMs = clock.nowMs()
      tickedMs = nowMs
      feed({ kind: 'tick', atMs: nowMs, bootMs: needs.bootMs() })
      await punctual(clock, Math.max(nowMs + 1, Math.min(nowMs + TICK_MS, beatDueMs(state))), over.signal)
    }
  }

  tick().catch(() => {}) // ends with `over`, when the work is done
  const ended = work().finally(async () => {
    over.abort(NUDGED)
    await seat.close()
  })
  return {
    hear: (request) => feed({ kind: 'asked', request, atMs: clock.nowMs() }),
    standby: (present) => feed({ kind: 'standby', present, atMs: clock.nowMs() }),
    leave: (why) => feed({ kind: 'leave', why, atMs: clock.nowMs() }),
    ended,
  }
}

/** The rules as they are for this supply. */
function rulesOf({ rules, port, crowbarVolts }: KeeperNeeds): KeeperRules {
  return { ...rules, leastVolts: Math.max(0, port.leastVolts ?? 0), trip: tripRuleOf(port, crowbarVolts ?? null) }
}

function actsOf(
  { port, clock, log, rules }: KeeperNeeds,
  more: Pick<ActsNeeds, 'seat' | 'against' | 'feed' | 'over'>,
): KeeperActs {
  return new KeeperActs({ ...more, clock, log, patience: rules.patience, makeSafeMs: port.makeSafeMs ?? 0 })
}

/** The keeper itself has a fault: nothing of it is asked any more but what normal was. */
async function broke(
  error: unknown,
  about: {
    readonly needs: KeeperNeeds
    readonly acts: KeeperActs
    readonly state: KeeperState
    readonly over: AbortSignal
  },
): Promise<{ readonly proved: boolean }> {
  const { needs, acts, state, over } = about
  const { clock, log } = needs
  const why = said('keeper.broke', { why: happenedOf(error) })
  log.error({ error }, sentence(why))
  const endMs = clock.nowMs() + KEEPER.endMs * needs.rules.patience
  const { proved, leftHigh } = await lastResort({
    perform: async (act) => {
      const barred = act.do === 'volts' ? (needs.against?.() ?? null) : null
      if (barred !== null) throw new Error(sentence(barred))
      return acts.performLast(act)
    },
    lowestVolts: state.normalVolts ?? state.rules.leastVolts,
    pause: async () => {
      await clock.sleepUntil(clock.nowMs() + KEEPER.proveMs, over)
      return clock.nowMs() < endMs
    },
    failed: (failure) => log.warn({ code: codeOf(failure) }, wordsOf(failure)),
  })
  const atMs = clock.nowMs()
  const note = { proved, volts: null, amps: null, atMs }
  needs.note({ ...note, what: proved ? 'safe' : 'not proved', why })
  if (leftHigh !== '') needs.note({ ...note, what: 'left high', why: leftHigh })
  return { proved }
}

const NUDGED = new Error('nudged')
