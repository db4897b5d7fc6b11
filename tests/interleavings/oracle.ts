import type { Job } from '../../src/core/job/state/job-types.ts'
import type { KeeperNote } from '../../src/keeper/rules/keeper-state.ts'
import type { FromKeeper } from '../../src/schema/messages/keeper-message.ts'
import type { FromStandby } from '../../src/schema/messages/standby-message.ts'
import type { Host } from './host.ts'
import type { Truth } from './world.ts'

/** What must never be seen, whatever happens in whatever order. */
export const RULES = {
  'high too long': 'above normal only while somebody who steers wants it, and within 3.5 s of its end at normal or off',
  'raised after its end': 'nothing rises above normal once the end of its wish was delivered',
  'on after STOP': 'off within 3.5 s of STOP, and off until a person asks again',
  'up while keyed': 'the setpoint never goes up while the key is down',
  'up alone': 'nothing goes up without a standby that would switch it off',
  'not in the journal': 'what the page was told is captured is in the journal',
  'not proved, not said': 'an output that cannot be proved off is said to be so',
  'left high': 'with the output off the setpoint goes down to normal or lower',
  'does not end': 'at the end everything closes, with the output off',
} as const
export type Rule = keyof typeof RULES

export interface Violation {
  readonly rule: Rule
  readonly atMs: number
  readonly words: string
}

/** What the rules look at besides the supply itself. */
export interface Witness {
  nowMs(): number
  truth(): Truth
  job(): Job | null
  readonly service: Host
  /** The keeper that holds the supply until a standby takes it. */
  readonly keeper: Host
  /** Each standby that was started so far. */
  readonly standbys: readonly Host[]
}

const NORMAL_VOLTS = 13.8
const SLACK_VOLTS = 0.25
/** From the end of a wish to normal or off, ms. */
const BOUND_MS = 3500
/** Orders and exchanges that were under way at the end of a wish may still come to an end, ms. */
const UNDER_WAY_MS = 600
/** A standby that stands still is missed after two beats, one that has died at once; what is under way comes to an end, ms. */
const FROZEN_SEEN_MS = 2100 + UNDER_WAY_MS
/** A key that has just gone down is seen at the next look, ms. */
const KEY_SEEN_MS = 700
const SAID_MS = 2000
const LOWERED_MS = 4000

/** Phases in which a step may have the supply where it wants it. */
const WANTING: ReadonlySet<string> = new Set(['arming', 'work', 'keeping', 'key up first', 'action', 'warming'])

/** Above normal by more than a reading may err. */
export const isHigh = (volts: number) => volts > NORMAL_VOLTS + SLACK_VOLTS

/** Watches a run: told of every change at the supply, of everything delivered, and asked to look every so often. */
export class Oracle {
  readonly violations: Violation[] = []
  readonly #about: Witness
  #present = true
  #stopMs: number | null = null
  #ended: { atMs: number; readonly how: 'delivered' | 'frozen' | 'dead' } | null
  /** The newest hindrance from outside: a process or the link. */
  #hitMs = Number.NEGATIVE_INFINITY
  #mendedMs = Number.NEGATIVE_INFINITY
  #darkMs: number | null = null
  /** Every reply comes double: orders arrive, but nothing can be proved. */
  #twice = false
  #extraMs = 0
  #keyedMs: number | null = null
  /** Since when no standby is there, and whether the last one has died. */
  #alone: { readonly atMs: number; readonly dead: boolean } | null = null
  #offMs: number | null
  #safing: { atMs: number; readonly host: Host } | null = null
  #saidUnproved = false
  /** Off was ordered, and is not proved so far. */
  #unproved = false
  #taken: { readonly atMs: number; readonly host: Host } | null = null

  constructor(about: Witness) {
    this.#about = about
    this.#ended = { atMs: about.nowMs(), how: 'delivered' }
    this.#offMs = about.nowMs()
  }

  /** STOP has arrived at the service. */
  stopped(): void {
    this.#stopMs ??= this.#about.nowMs()
    this.look()
  }

  /** A person has asked for something again, and the service has taken it. */
  askedAgain(): void {
    this.#stopMs = null
    this.look()
  }

  /** The service was told whether somebody steers. */
  steered(present: boolean): void {
    this.#present = present
    this.look()
  }

  /** A process was stopped or killed just now. */
  hit(): void {
    this.#hitMs = this.#about.nowMs()
    this.look()
  }

  /** The supply's link does this from now on; `extraMs` is what that may cost. */
  link(state: { readonly dark: boolean; readonly twice: boolean; readonly extraMs: number }): void {
    const nowMs = this.#about.nowMs()
    this.look()
    this.#hitMs = nowMs
    this.#mendedMs = nowMs
    this.#darkMs = state.dark ? (this.#darkMs ?? nowMs) : null
    this.#twice = state.twice
    this.#extraMs = state.extraMs
  }

  noted(note: KeeperNote, host: Host): void {
    const atMs = this.#about.nowMs()
    if (note.what === 'going safe' && !this.#saidUnproved) this.#safing = { atMs, host }
    if (note.what === 'going safe') this.#unproved = true
    if (note.what !== 'safe') return
    this.#safing = null
    this.#unproved = false
    this.#saidUnproved = false // said once for each way to safe
  }

  said(message: FromKeeper): void {
    if (message.kind !== 'acted' || message.proved) return
    this.#safing = null
    this.#saidUnproved = true
  }

  saidByStandby(word: FromStandby, host: Host): void {
    if (word.kind === 'taking over') this.#taken = { atMs: this.#about.nowMs(), host }
    if (word.kind === 'proved') this.#saidUnproved = false
    if (word.kind !== 'not proved') return
    this.#safing = null
    this.#saidUnproved = true
  }

  /** The page was shown so many captured values, and so many are on disk. */
  captured(told: number, onDisk: number): void {
    if (told > onDisk) this.violate('not in the journal', `${told} captured values are shown, ${onDisk} are on disk`)
  }

  /** Something at the supply or the radio was changed. */
  changed(before: Truth, after: Truth): void {
    this.look()
    const nowMs = after.atMs
    const up = after.setVolts > before.setVolts + 0.001
    const on = after.on && !before.on
    if (after.on) this.#offMs = null
    else this.#offMs ??= nowMs
    if (!after.on) return
    const sinceMs = Math.max(this.#about.keeper.thawedMs, this.#mendedMs)
    const late = (fromMs: number, graceMs: number) => nowMs > Math.max(fromMs, sinceMs) + graceMs + this.#extraMs
    if (on && this.#stopMs !== null && late(this.#stopMs, UNDER_WAY_MS))
      this.violate(
        'on after STOP',
        `switched on at ${inVolts(after.setVolts)}, ${since(nowMs, this.#stopMs)} after STOP`,
      )
    const ended = this.#ended
    if ((up || on) && isHigh(after.setVolts) && ended && ended.how !== 'frozen' && late(ended.atMs, UNDER_WAY_MS))
      this.violate(
        'raised after its end',
        `to ${inVolts(after.setVolts)}, ${since(nowMs, ended.atMs)} after nobody wanted it`,
      )
    const alone = this.#alone
    if ((up || on) && alone && late(alone.atMs, alone.dead ? UNDER_WAY_MS : FROZEN_SEEN_MS))
      this.violate('up alone', `to ${inVolts(after.setVolts)}, ${since(nowMs, alone.atMs)} after the standby was gone`)
    if (up && before.on && this.#keyedMs !== null && late(this.#keyedMs, KEY_SEEN_MS))
      this.violate('up while keyed', `to ${inVolts(after.setVolts)}, keyed for ${since(nowMs, this.#keyedMs)}`)
  }

  look(): void {
    const nowMs = this.#about.nowMs()
    const truth = this.#about.truth()
    this.#keyedMs = truth.transmitting ? (this.#keyedMs ?? nowMs) : null
    this.#follow(nowMs)
    this.#lookForStandby(nowMs)
    const dueMs = this.#darkMs === null ? this.#hitMs + BOUND_MS + this.#extraMs : Number.POSITIVE_INFINITY
    const late = (fromMs: number) => nowMs > Math.max(fromMs + BOUND_MS + this.#extraMs, dueMs)
    if (truth.on && this.#ended && isHigh(Math.max(truth.setVolts, truth.volts)) && late(this.#ended.atMs))
      this.violate('high too long', `${inVolts(truth.volts)}, ${since(nowMs, this.#ended.atMs)} after nobody wanted it`)
    if (truth.on && this.#stopMs !== null && late(this.#stopMs))
      this.violate('on after STOP', `${inVolts(truth.volts)}, ${since(nowMs, this.#stopMs)} after STOP`)
    this.#lookAtWords(truth, nowMs)
    this.#lookAtSetting(truth, nowMs)
  }

  /** The first of each rule counts. */
  violate(rule: Rule, words: string): void {
    if (this.violations.some((one) => one.rule === rule)) return
    this.violations.push({ rule, atMs: this.#about.nowMs(), words })
  }

  /** Whether somebody who steers wants it high, and since when not. */
  #follow(nowMs: number): void {
    const { service, keeper } = this.#about
    const how =
      !this.#present || !wantsHigh(this.#about.job())
        ? 'delivered'
        : !service.alive || !keeper.alive
          ? 'dead'
          : service.frozen || keeper.frozen
            ? 'frozen'
            : null
    if (how === null) this.#ended = null
    else if (this.#ended === null || (how === 'delivered' && this.#ended.how !== how))
      this.#ended = { atMs: nowMs, how }
  }

  #lookForStandby(nowMs: number): void {
    const { standbys } = this.#about
    const dead = standbys.every((host) => !host.alive)
    if (!dead && standbys.some((host) => host.alive && !host.frozen)) this.#alone = null
    else if (this.#alone?.dead !== dead) this.#alone = { atMs: nowMs, dead }
  }

  /** An off that is not proved is said; so is a link that lets nothing through while the output may be on. */
  #lookAtWords(truth: Truth, nowMs: number): void {
    const safing = this.#safing
    if (safing && (!safing.host.alive || safing.host.frozen)) safing.atMs = nowMs
    else if (safing && nowMs > Math.max(safing.atMs, safing.host.thawedMs) + SAID_MS + this.#extraMs)
      this.violate('not proved, not said', `nothing was said for ${since(nowMs, safing.atMs)} of going safe`)
    if (this.#darkMs === null || !truth.on || this.#saidUnproved) return
    const { keeper } = this.#about
    const holder = this.#taken?.host ?? keeper
    if (!holder.alive || holder.frozen) return
    const fromMs = Math.max(this.#darkMs, holder.thawedMs, this.#taken?.atMs ?? 0)
    if (nowMs > fromMs + (this.#taken ? SAID_MS : BOUND_MS))
      this.violate('not proved, not said', `no byte came through for ${since(nowMs, fromMs)}, and nothing was said`)
  }

  #lookAtSetting(truth: Truth, nowMs: number): void {
    const { keeper } = this.#about
    if (this.#offMs === null || !isHigh(truth.setVolts) || this.#darkMs !== null || !keeper.alive || keeper.frozen)
      return
    // The setting goes down once off is proved.
    if (this.#twice && this.#unproved) return
    const fromMs = Math.max(this.#offMs, this.#hitMs, keeper.thawedMs)
    if (nowMs > fromMs + LOWERED_MS + this.#extraMs)
      this.violate('left high', `off for ${since(nowMs, this.#offMs)}, and still set to ${inVolts(truth.setVolts)}`)
  }
}

function wantsHigh(job: Job | null): boolean {
  if (!job || !WANTING.has(job.phase.name)) return false
  if (job.phase.name === 'action' && job.armed === null) return false
  return isHigh(job.open.step.supplyVolts ?? NORMAL_VOLTS)
}

const inVolts = (volts: number) => `${volts.toFixed(2)} V`
const since = (nowMs: number, fromMs: number) => `${((nowMs - fromMs) / 1000).toFixed(2)} s`
