import type { BenchError } from '../fault/bench-error.ts'
import type { LinkKind } from './port/opener.ts'

/** How long to wait, on the bench clock, and who may call it off. */
export interface Wait {
  readonly ms: number
  readonly signal: AbortSignal
}

/** A reply and when it came. `sentMs` is when the question left, `arrivedMs` when the last byte of the reply was there. */
export interface Reply {
  readonly text: string
  readonly sentMs: number
  readonly arrivedMs: number
}

/** How an instrument wants to be spoken to: the driver file's `link` part, in milliseconds and bytes. */
export interface LinkManners {
  /** Ends a question; what ends a reply. */
  readonly sendEnd: string
  readonly replyEnd: string
  /** Pause after each message before the next (a manual's demand), ms. */
  readonly gapMs: number
  /** Deaf time after opening, ms; what arrives in it is discarded. */
  readonly settleMs: number
  /** Quiet that ends a discard, ms. */
  readonly quietMs: number
  readonly longestMessage: number
  /**
   * How a link is brought back in step after a missed, late, unasked or misshapen reply.
   * sentinel: `*ESE n` / `*ESE?` (IEEE 488.2); identity: the identity twice; drain: quiet only; reopen: a new connection.
   */
  readonly resync: 'sentinel' | 'identity' | 'drain' | 'reopen'
  /** The question for `identity`, null where the instrument has none. */
  readonly identityAsk: string | null
  /** Clear command sent while resynchronising (`*CLS`), null for none. */
  readonly clear: string | null
}

/** One instrument's link: one exchange at a time, every wait with a deadline, back in step before the next question. */
export interface Link {
  /** "power (power-meter-scpi at tcp://127.0.0.1:5025)". */
  readonly who: string
  readonly kind: LinkKind
  /** One question, one reply. Throws TRANSPORT_REPLY_TIMEOUT, TRANSPORT_LINK_LOST and the like, or `signal.reason` untouched. */
  ask(text: string, wait: Wait): Promise<Reply>
  /** A message that has no reply. */
  tell(text: string, wait: Wait): Promise<void>
  /**
   * Hands these messages over at once, after a bare end, out of turn and whatever state the link is in, with the instrument's own pause
   * between them; nobody answers. Where that pause had not passed yet when the first left, they follow once more. Throws when the way is gone.
   */
  blind(messages: readonly string[]): Promise<void>
  /** The caller found the last reply misshapen or out of range: the link is brought back in step before the next question. */
  doubt(why: string): void
  /** Replies to questions that were given up and that may still come, by a new link too; null for none. */
  owed(): Owed | null
  /** How often it was brought in step, the first time included. */
  timesInStep(): number
  /** Called once, when the link is gone for good; a new link must be opened. */
  onLost(listener: (fault: BenchError) => void): void
  /** Idempotent; rejects everybody who waits; never rejects itself. */
  close(): Promise<void>
}

/** Replies to questions that were given up: how many, how long the slowest of them may take, and from when on, ms. */
export interface Owed {
  readonly count: number
  readonly slowestMs: number
  readonly fromMs: number
}
