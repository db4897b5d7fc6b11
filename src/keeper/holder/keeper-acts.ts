import { happenedOf } from '../../fault/bench-error.ts'
import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import type { Clock } from '../../system/clock.ts'
import type { Log } from '../../system/log.ts'
import { said, type Words } from '../../words/said/said.ts'
import { sentence } from '../../words/sentence/sentence.ts'
import type { KeeperEvent } from '../rules/keeper-event.ts'
import type { Act } from '../rules/keeper-state.ts'
import { punctual } from './punctual.ts'
import { codeOf, type SupplySeat } from './supply-seat.ts'

/** What acting on the supply needs. */
export interface ActsNeeds {
  readonly seat: SupplySeat
  readonly clock: Clock
  readonly log: Log
  /** Times are multiplied by it. */
  readonly patience: number
  /** Time that making safe may take beyond the usual, ms. */
  readonly makeSafeMs: number
  /** What speaks against this act at this moment, in words. */
  readonly against: (act: Act) => Words | null
  /** Told when an act begins and what came of it. */
  readonly feed: (event: KeeperEvent) => void
  /** The keeper is through. */
  readonly over: AbortSignal
}

/** An exchange under way may run this old before "off" cuts it short. */
const GRACE_MS = 100
const SETTING_MS = 500
const LONGEST_LOOK_MS = 900
const SHORTEST_LOOK_MS = 500
const OFF_MS = 400
const OVERTIME_MS = 50

/** The keeper's acts on the supply, one after the other, each with its time. */
export class KeeperActs {
  readonly #needs: ActsNeeds
  #current: { readonly act: Act; readonly sinceMs: number; readonly cut: AbortController } | null = null
  #usualLookMs = LONGEST_LOOK_MS / 3
  #toldWords = '' // an unplugged supply fails five times a second; one line says it

  constructor(needs: ActsNeeds) {
    this.#needs = needs
  }

  /** Performs one act and feeds what came of it. Never rejects. */
  async perform(act: Act): Promise<void> {
    const { clock, log, against, feed } = this.#needs
    const sinceMs = clock.nowMs()
    const why = against(act)
    if (why !== null) return feed({ kind: 'alarm', why, atMs: sinceMs })
    const cut = new AbortController()
    this.#current = { act, sinceMs, cut }
    feed({ kind: 'begun', act, atMs: sinceMs })
    try {
      const back = await this.#within(this.#deadlineMs(act), cut, act)
      this.#current = null
      if (back) {
        this.#usualLookMs += (back.atMs - back.beganMs - this.#usualLookMs) / 8
        this.#toldWords = ''
        feed({ kind: 'looked', back })
      } else feed({ kind: 'did', act, beganMs: sinceMs, atMs: clock.nowMs() })
    } catch (error) {
      this.#current = null
      if (act.do === 'look') this.#usualLookMs = LONGEST_LOOK_MS / 3
      const words = failedWords(error)
      const told = sentence(words)
      if (told !== this.#toldWords) log.warn({ act: act.do, code: codeOf(error) }, told)
      this.#toldWords = told
      feed({ kind: 'failed', act, code: codeOf(error), words, beganMs: sinceMs, atMs: clock.nowMs() })
    }
  }

  /** Of a keeper that broke: no look is cut short, and nothing is fed. Rejects with what went wrong. */
  performLast(act: Act): Promise<SupplyReadBack | null> {
    const ms = act.do === 'look' ? LONGEST_LOOK_MS * this.#needs.patience : this.#deadlineMs(act)
    return this.#within(ms, new AbortController(), act)
  }

  /** "Off" is wanted, where `isUrgent`: what is under way gets the rest of its grace, then is cut short. */
  hurry(isUrgent: () => boolean): void {
    const { clock, over } = this.#needs
    const under = this.#current
    if (!under || under.act.do === 'off' || under.cut.signal.aborted || !isUrgent()) return
    const endMs = under.sinceMs + GRACE_MS
    if (clock.nowMs() >= endMs) {
      under.cut.abort(CUT)
      return
    }
    clock.sleepUntil(endMs, over).then(
      () => {
        if (this.#current === under) under.cut.abort(CUT)
      },
      () => {},
    )
  }

  /** Cuts what is under way short now. */
  cutShort(): void {
    this.#current?.cut.abort(CUT)
  }

  /** Performs an act; whatever the port does, this ends at the deadline or at the cut. */
  async #within(ms: number, cut: AbortController, act: Act): Promise<SupplyReadBack | null> {
    const { seat, clock, patience } = this.#needs
    const endMs = clock.nowMs() + ms + OVERTIME_MS * patience
    const done = new AbortController()
    const late = punctual(clock, endMs, done.signal).then(
      () => cut.abort(LATE),
      () => {},
    )
    try {
      return await seat.perform(act, { ms, signal: cut.signal })
    } finally {
      done.abort(DONE)
      await late
    }
  }

  #deadlineMs(act: Act): number {
    const { patience, makeSafeMs } = this.#needs
    if (act.do === 'off') return OFF_MS * patience + makeSafeMs
    if (act.do !== 'look') return SETTING_MS * patience
    return Math.min(LONGEST_LOOK_MS, Math.max(SHORTEST_LOOK_MS, (3 * this.#usualLookMs) / patience)) * patience
  }
}

/** What was cut short by the keeper itself says so; all else says what happened. */
function failedWords(error: unknown): Words {
  if (error === CUT) return said('keeper.cut-short')
  return error === LATE ? said('keeper.too-slow') : happenedOf(error)
}

const DONE = new Error('done')
const CUT = new Error('cut short to switch the output off')
const LATE = new Error('took too long')
