import { happenedOf, wordsOf } from '../../fault/bench-error.ts'
import type { SupplyPort } from '../../instrument/supply-port.ts'
import type { FromKeeper } from '../../schema/messages/keeper-message.ts'
import type { FromStandby, KeeperToStandby } from '../../schema/messages/standby-message.ts'
import { isSimulated, readIdentity } from '../../scpi/identity.ts'
import type { Clock } from '../../system/clock.ts'
import { deadline } from '../../system/deadline.ts'
import type { Log } from '../../system/log.ts'
import type { Wait } from '../../transport/link.ts'
import { said, sameWords, says, type Words } from '../../words/said/said.ts'
import { sentence } from '../../words/sentence/sentence.ts'
import { runKeeper } from '../holder/keeper.ts'
import type { Taking } from '../line/lease.ts'
import type { KeeperNote, KeeperRules } from '../rules/keeper-state.ts'
import { seconds } from '../rules/seconds.ts'
import { countSilence, STANDBY } from '../rules/silence.ts'

/** What a standby works with; nothing here names a process, so that it runs on any clock. */
export interface StandbyNeeds {
  readonly rules: KeeperRules
  /** Clock ms per ms of real time, never below 1. */
  readonly factor: number
  readonly clock: Clock
  /** ms, on the scale of `clock`, of a clock that runs on while the computer sleeps. */
  readonly bootMs: () => number
  readonly log: Log
  readonly keeper: {
    /** The keeper's own process is still there. */
    alive(): boolean
    /** Ends it by force, stopped or not; why that cannot be done, else null. */
    kill(): string | null
  }
  readonly takeLease: () => Taking
  /** A new connection. `identity` was proved by the keeper of this run at this address; "" where it was not. */
  readonly openSupply: (wait: Wait, identity: string) => Promise<SupplyPort>
  readonly say: (word: FromStandby) => void
  readonly note: (note: KeeperNote) => void
  readonly begin: 'watching' | { readonly why: Words }
  readonly identity: string
}

/** How a standby ended: whether the output was proved off, or the keeper left in order. */
export interface StandbyEnd {
  readonly proved: boolean
  readonly words: Words
}

/** A standby at work. */
export interface Standby {
  /** A word of the keeper. */
  heard(word: KeeperToStandby): void
  /** The way to the keeper has ended: it is gone, unless it had said that it leaves. */
  lost(): void
  /** The service asks for it. */
  takeOver(why: Words): void
  /** Resolves when it is through. Never rejects. */
  readonly ended: Promise<StandbyEnd>
}

const OPEN_MS = 1500
/** From an opening that failed to the next: a supply with room for one client is not hammered. */
const OPEN_PAUSES_MS: readonly number[] = [100, 100, 200, 400, 800, 1000]
const GONE_LOOK_MS = 10
/** A keeper that was killed and is not gone after this cannot act any more either: it hangs inside the system. */
const GONE_MS = 1000
/** A simulated supply that cannot be had for this long went with its bench; a real one is tried for ever. */
const SIMULATED_GONE_MS = 20_000
/** Another standby that froze while it held the supply is ended by the service when it is silent for two beats: so long and longer is waited for it. */
const HELD_MS = 3000

/**
 * Watches a keeper; when it dies or is silent for two beats: ends it by force, takes the supply, switches off until that is
 * proved, for ever, and once more for 5 s. Makes safe and ends; never raises.
 */
export function runStandby(needs: StandbyNeeds): Standby {
  const { clock, factor, begin } = needs
  const silence = countSilence(clock.nowMs(), factor)
  let identity = needs.identity
  let left = false
  let cause: Words | null = begin === 'watching' ? null : begin.why
  const nudge = new AbortController()

  const take = (why: Words) => {
    if (cause !== null || left) return
    // A supply that the keeper never had is no concern of its standby.
    left = identity === ''
    cause = why
    nudge.abort(NUDGED)
  }

  const watch = async (): Promise<Words | null> => {
    while (cause === null && !left) {
      const silentMs = silence.tick(clock.nowMs())
      if (silentMs >= STANDBY.silentMs * factor)
        take(said('standby.keeper-silent', { time: seconds(silentMs / factor) }))
      else await clock.sleepUntil(clock.nowMs() + STANDBY.tickMs * factor, nudge.signal).catch(() => {})
    }
    return left ? null : cause
  }

  const work = async (): Promise<StandbyEnd> => {
    const why = await watch()
    return why === null ? IN_ORDER(identity) : takeover(needs, why, () => identity)
  }

  return {
    heard: (word) => {
      silence.heard(clock.nowMs())
      if (word.kind === 'beat') identity = word.identity || identity
      else if (cause === null) {
        left = true
        nudge.abort(NUDGED)
      }
    },
    lost: () => take(said('standby.keeper-gone')),
    takeOver: take,
    ended: work(),
  }
}

const NUDGED = new Error('nudged')
const IN_ORDER = (identity: string): StandbyEnd =>
  identity === ''
    ? { proved: false, words: said('standby.never-had') }
    : { proved: true, words: said('standby.left-in-order') }

/** Keeper away, supply taken, off, proved, and proved again. */
async function takeover(needs: StandbyNeeds, why: Words, identity: () => string): Promise<StandbyEnd> {
  const { clock, factor, log, say } = needs
  const proof: Proof = { sinceMs: null, hindered: said('standby.no-answer-yet') }
  say({ kind: 'taking over', why })
  log.warn({}, `the standby keeper takes over: ${sentence(why)}`)
  const sayUnproved = () => say({ kind: 'not proved', words: proof.hindered })
  const through = deadline(clock, STANDBY.sayUnprovedMs * factor, () => {
    if (proof.sinceMs === null) sayUnproved()
  })
  try {
    await endKeeper(needs, proof)
    for (;;) {
      const taking = await takeLease(needs, proof)
      if ('heldBy' in taking && taking.heldBy && !needs.keeper.alive()) {
        const { pid, who } = taking.heldBy
        return { proved: false, words: said('standby.held-and-made-safe', { pid, who }) }
      }
      const port = await openForEver(needs, proof, identity())
      if (port === null) return { proved: false, words: said('standby.simulated-gone') }
      const proved = await makeSafe(needs, { port, why, proof, identity, sayUnproved })
      if ('lease' in taking) taking.lease.giveBack()
      if (proved) return { proved, words: said('standby.switched-off', { why }) }
    }
  } finally {
    through()
  }
}

/** Whoever was killed a moment ago may still hold it. Without a lease that can be read or written, off is ordered all the same. */
async function takeLease(needs: StandbyNeeds, proof: Proof): Promise<Taking | { readonly heldBy: null }> {
  const { clock, factor, log } = needs
  const endMs = clock.nowMs() + HELD_MS * factor
  try {
    for (;;) {
      const taking = needs.takeLease()
      if ('lease' in taking || clock.nowMs() >= endMs || needs.keeper.alive()) return taking
      proof.hindered = said('standby.held', { pid: taking.heldBy.pid })
      await clock.sleepUntil(clock.nowMs() + GONE_LOOK_MS * factor, new AbortController().signal)
    }
  } catch (error) {
    log.error({}, `no lease: ${wordsOf(error)}`)
    return { heldBy: null }
  }
}

interface Proof {
  /** Since when the output was proved off without a break; null: it is not. */
  sinceMs: number | null
  /** What stands in the way. */
  hindered: Words
}

async function endKeeper(needs: StandbyNeeds, proof: Proof): Promise<void> {
  const { clock, factor, log } = needs
  const never = new AbortController().signal
  const endMs = clock.nowMs() + GONE_MS * factor
  while (needs.keeper.alive()) {
    const against = needs.keeper.kill()
    if (!needs.keeper.alive()) return
    proof.hindered = against === null ? said('standby.keeper-hangs') : said('standby.keeper-stays', { why: against })
    if (clock.nowMs() >= endMs) return log.error({}, sentence(proof.hindered))
    await clock.sleepUntil(clock.nowMs() + GONE_LOOK_MS * factor, never)
  }
}

/** Null: given up, which a real supply never is. */
async function openForEver(needs: StandbyNeeds, proof: Proof, identity: string): Promise<SupplyPort | null> {
  const { clock, factor, log } = needs
  const never = new AbortController().signal
  const isMade = isSimulated(readIdentity(identity))
  const endMs = isMade ? clock.nowMs() + SIMULATED_GONE_MS * factor : Number.POSITIVE_INFINITY
  for (let tries = 0; ; tries++) {
    try {
      return await needs.openSupply({ ms: OPEN_MS * factor, signal: never }, identity)
    } catch (error) {
      const words = happenedOf(error)
      if (!sameWords(words, proof.hindered)) log.error({}, sentence(words))
      proof.hindered = words
      if (clock.nowMs() >= endMs) return null
      const pauseMs = OPEN_PAUSES_MS[Math.min(tries, OPEN_PAUSES_MS.length - 1)] ?? 0
      await clock.sleepUntil(clock.nowMs() + pauseMs * factor, never)
    }
  }
}

interface Making {
  readonly port: SupplyPort
  readonly why: Words
  readonly proof: Proof
  readonly identity: () => string
  readonly sayUnproved: () => void
}

/** A keeper that nobody gives orders to: it switches off until that is proved. Asked for off again and again, for bytes of the dead one may still come. */
async function makeSafe(needs: StandbyNeeds, making: Making): Promise<boolean> {
  const { clock, factor, say } = needs
  const { why, proof } = making
  const never = new AbortController().signal
  let id = 0
  const proved = (words: Words) => {
    proof.sinceMs ??= clock.nowMs()
    say({ kind: 'proved', words })
  }
  const unproved = (words: Words) => {
    proof.sinceMs = null
    proof.hindered = words
    making.sayUnproved()
  }
  const hear = (message: FromKeeper) => {
    if (message.kind === 'acted' && !message.proved) unproved(said('standby.unproved'))
    else if (message.kind === 'acted') proved(said('standby.proved', { why }))
    else if (message.kind === 'refused') unproved(message.words)
  }
  const keeper = runKeeper({
    port: making.port,
    reopen: (wait) => needs.openSupply(wait, making.identity()),
    rules: { ...needs.rules, needsStandby: true },
    offFirst: why,
    clock,
    bootMs: needs.bootMs,
    say: hear,
    note: (note) => {
      if (!says(note.why, 'standby.once-more') || note.what === 'not proved') needs.note(note)
    },
    log: needs.log,
  })
  const provedLongEnough = () =>
    proof.sinceMs !== null && clock.nowMs() - proof.sinceMs >= STANDBY.proveAgainMs * factor
  const isMade = isSimulated(readIdentity(making.identity()))
  let provedMs = clock.nowMs()
  while (!provedLongEnough()) {
    if (proof.sinceMs !== null) provedMs = clock.nowMs()
    else if (isMade && clock.nowMs() - provedMs >= SIMULATED_GONE_MS * factor) break
    await clock.sleepUntil(clock.nowMs() + STANDBY.againMs * factor, never)
    if (proof.sinceMs !== null) keeper.hear({ verb: 'off', id: ++id, upTo: 0, why: AGAIN })
  }
  keeper.leave(why)
  const end = await keeper.ended
  if (!end.proved) proof.sinceMs = null
  return end.proved
}

const AGAIN = said('standby.once-more')
