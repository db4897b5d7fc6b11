import { happenedOf, wordsOf } from '../../fault/bench-error.ts'
import type { SupplyPort } from '../../instrument/supply-port.ts'
import type { FromKeeper, ToKeeper } from '../../schema/messages/keeper-message.ts'
import type { Clock } from '../../system/clock.ts'
import type { Log } from '../../system/log.ts'
import type { Wait } from '../../transport/link.ts'
import type { Words } from '../../words/said/said.ts'
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
  readonly against?: () => string | null
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
/** An exchange under way may run this old before "off" cuts it short. */
const GRACE_MS = 100
const SETTING_MS = 500
const LONGEST_LOOK_MS = 900
const SHORTEST_LOOK_MS = 500
const OFF_MS = 400

/** Puts the keeper to work on an open supply: it makes it safe first. Acts on the supply go one after the other; "off" waits for nobody. */
export function runKeeper(needs: KeeperNeeds): Keeper {
  const { clock, log } = needs
  const { patience } = needs.rules
  const rules: KeeperRules = {
    ...needs.rules,
    leastVolts: Math.max(0, needs.port.leastVolts ?? 0),
    trip: tripRuleOf(needs.port, needs.crowbarVolts ?? null),
  }
  const seat = openSeat(needs.port, needs.reopen, needs)
  const over = new AbortController()
  let state: KeeperState = startedKeeper(rules, clock.nowMs(), needs.offFirst)
  let resting: { readonly untilMs: number; readonly nudge: AbortController } | null = null
  let current: { readonly act: Act; readonly sinceMs: number; readonly cut: AbortController } | null = null
  let tickedMs = clock.nowMs()
  let usualLookMs = LONGEST_LOOK_MS / 3
  let toldWords = '' // an unplugged supply fails five times a second; one line says it
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
      current?.cut.abort(CUT)
    }
    wake()
    hurry()
  }

  /** Ends a rest that is now too long; most ticks change nothing, and those let it be. */
  const wake = () => {
    if (!resting) return
    const next = broken ? null : wanted(state, clock.nowMs())
    if (next?.do !== 'rest' || next.untilMs < resting.untilMs) resting.nudge.abort(NUDGED)
  }

  /** "Off" is wanted: what is under way gets the rest of its grace, then is cut short. */
  const hurry = () => {
    const under = current
    if (!under || under.act.do === 'off' || under.cut.signal.aborted || !urgent(state, clock.nowMs())) return
    const endMs = under.sinceMs + GRACE_MS
    if (clock.nowMs() >= endMs) return under.cut.abort(CUT)
    clock.sleepUntil(endMs, over.signal).then(
      () => {
        if (current === under) under.cut.abort(CUT)
      },
      () => {},
    )
  }

  /** A keeper that stood still, or does not hold the supply any more, only switches off. */
  const against = (act: Act): string | null => {
    if (act.do === 'off' || act.do === 'look') return null
    const oldMs = clock.nowMs() - tickedMs
    if (oldMs > needs.rules.staleMs) return `the keeper stood still for ${seconds(oldMs)}`
    return needs.against?.() ?? null
  }

  const perform = async (act: Act) => {
    const sinceMs = clock.nowMs()
    const why = against(act)
    if (why !== null) return feed({ kind: 'alarm', why, atMs: sinceMs })
    const cut = new AbortController()
    current = { act, sinceMs, cut }
    feed({ kind: 'begun', act, atMs: sinceMs })
    try {
      const back = await within(deadlineMs(act), cut, act)
      current = null
      if (back) {
        usualLookMs += (back.atMs - back.beganMs - usualLookMs) / 8
        toldWords = ''
        feed({ kind: 'looked', back })
      } else feed({ kind: 'did', act, beganMs: sinceMs, atMs: clock.nowMs() })
    } catch (error) {
      current = null
      if (act.do === 'look') usualLookMs = LONGEST_LOOK_MS / 3
      const words = happenedOf(error)
      const told = sentence(words)
      if (told !== toldWords) log.warn({ act: act.do, code: codeOf(error) }, told)
      toldWords = told
      feed({ kind: 'failed', act, code: codeOf(error), words, beganMs: sinceMs, atMs: clock.nowMs() })
    }
  }

  /** Performs an act; whatever the port does, this ends at the deadline or at the cut. */
  const within = async (ms: number, cut: AbortController, act: Act) => {
    const endMs = clock.nowMs() + ms + OVERTIME_MS * patience
    const done = new AbortController()
    const late = punctual(endMs, done.signal).then(
      () => cut.abort(LATE),
      () => {},
    )
    try {
      return await seat.perform(act, { ms, signal: cut.signal })
    } finally {
      done.abort(NUDGED)
      await late
    }
  }

  /** Sleeps until it is time; a program that stood still first gets a moment to read what has come meanwhile. */
  const punctual = async (dueMs: number, signal: AbortSignal) => {
    await clock.sleepUntil(dueMs, signal)
    const nowMs = clock.nowMs()
    if (nowMs - dueMs > STALLED_MS) await clock.sleepUntil(nowMs + READ_MS, signal)
  }

  const deadlineMs = (act: Act) => {
    if (act.do === 'off') return OFF_MS * patience + (needs.port.makeSafeMs ?? 0)
    if (act.do !== 'look') return SETTING_MS * patience
    return Math.min(LONGEST_LOOK_MS, Math.max(SHORTEST_LOOK_MS, (3 * usualLookMs) / patience)) * patience
  }

  const work = async () => {
    for (;;) {
      if (broken) return broke(broken.error)
      const next = wanted(state, clock.nowMs())
      if (next.do === 'end') return { proved: next.proved }
      if (next.do === 'act') await perform(next.act)
      else {
        const nudge = new AbortController()
        resting = { untilMs: next.untilMs, nudge }
        await clock.sleepUntil(next.untilMs, nudge.signal).catch(() => {})
        resting = null
      }
    }
  }

  /** The keeper itself has a fault: nothing of it is asked any more but what normal was. */
  const broke = async (error: unknown) => {
    const why = `the keeper broke: ${happenedOf(error)}`
    log.error({ error }, why)
    const endMs = clock.nowMs() + KEEPER.endMs * patience
    const { proved, leftHigh } = await lastResort({
      perform: async (act) => {
        const barred = act.do === 'volts' ? (needs.against?.() ?? null) : null
        if (barred !== null) throw new Error(barred)
        return within(act.do === 'look' ? LONGEST_LOOK_MS * patience : deadlineMs(act), new AbortController(), act)
      },
      lowestVolts: state.normalVolts ?? rules.leastVolts,
      pause: async () => {
        await clock.sleepUntil(clock.nowMs() + KEEPER.proveMs, over.signal)
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

  const tick = async () => {
    for (;;) {
      const nowMs = clock.nowMs()
      tickedMs = nowMs
      feed({ kind: 'tick', atMs: nowMs, bootMs: needs.bootMs() })
      await punctual(Math.max(nowMs + 1, Math.min(nowMs + TICK_MS, beatDueMs(state))), over.signal)
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

const NUDGED = new Error('nudged')
const CUT = new Error('cut short to switch the output off')
const LATE = new Error('took too long')
const OVERTIME_MS = 50
const STALLED_MS = 50
const READ_MS = 25
