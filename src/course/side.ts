import { BenchError, wordsOf } from '../fault/bench-error.ts'
import { FAULTS, type FaultCode } from '../fault/faults.ts'
import type { DidLine, Failure } from '../schema/course/course-line.ts'
import type { Clock } from '../system/clock.ts'
import type { Rng } from '../system/rng.ts'
import { sentence } from '../words/sentence/sentence.ts'

/** How something from outside is written down, and read again from what was written. `read` throws SCHEMA_REJECTED. */
export interface Form<T> {
  write(value: T): unknown
  read(written: unknown): T
}

/** What is written as it is. */
export function plain<T>(read: (written: unknown) => T): Form<T> {
  return { write: (value) => value, read }
}

/** That it has come is all there is to say. */
export const NOTHING: Form<void> = { write: () => null, read: () => {} }

/**
 * The one door between bench and session and everything outside them. It has two sides: one writes down what comes as it comes, the
 * other gives it back from what was written. What comes is let in one at a time, and time stands still until all that it led to
 * without waiting has happened: so the same comings in the same order lead to the same doings, to the last frame.
 */
export interface Side {
  readonly clock: Clock
  readonly rng: Rng
  /** The next number, for something that will come back: counted in the order of asking. */
  number(): number
  did(line: DidLine): void
  /** What `work` leads to. `calledOff`: a failure with this signal's reason is its caller's own doing. */
  settle<T>(id: number, form: Form<T>, work: () => Promise<T>, calledOff?: { readonly signal: AbortSignal }): Promise<T>
  /** News of `what`, from now on; returns how to hear no more of it. */
  listen<T>(
    what: string,
    form: Form<T>,
    begin: (tell: (news: T) => void) => () => void,
    to: (news: T) => void,
  ): () => void
  /** How something outside stands at this moment. */
  see<T>(what: string, form: Form<T>, look: () => T): T
  /** Bytes out of a port; what `write` gives back is given back. */
  send(port: number, text: string, write: () => Promise<void>): Promise<void>
}

/** What was thrown, to be written down. */
export function failureOf(error: unknown, signal?: AbortSignal): Failure {
  if (signal?.aborted && error === signal.reason) return { calledOff: true }
  if (error instanceof BenchError) return { code: error.code, who: error.who, happened: error.happened }
  return { words: wordsOf(error) }
}

/** What was thrown, from what was written down. */
export function thrownFrom(why: Failure, signal?: AbortSignal): unknown {
  return 'calledOff' in why ? (signal?.reason ?? new Error('called off')) : errorFrom(why)
}

/** A fault with its code, where this program still knows it. */
export function errorFrom(why: Failure): Error {
  if ('code' in why && isFault(why.code)) return new BenchError(why.code, why.who, why.happened)
  return new Error(sentence('words' in why ? why.words : 'happened' in why ? why.happened : 'called off'))
}

function isFault(code: string): code is FaultCode {
  return Object.hasOwn(FAULTS, code)
}
