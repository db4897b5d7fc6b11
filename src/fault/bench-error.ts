import type { Words } from '../words/said/said.ts'
import { capitalised, sentence } from '../words/sentence/sentence.ts'
import { FAULTS, type FaultCode } from './faults.ts'

/**
 * The one error class: says who, what happened, and (from the registry) what to do next.
 * `message` reads "who: what happened, with the values. What to do next. [CODE]".
 */
export class BenchError extends Error {
  override readonly name = 'BenchError'
  readonly code: FaultCode
  /** Instrument, driver and address, or the file, or the page: whoever the message is about. */
  readonly who: string
  readonly happened: Words

  constructor(code: FaultCode, who: string, happened: Words, cause?: unknown) {
    const { next } = FAULTS[code]
    const what = sentence(happened)
    const told = what.endsWith(next) ? what : `${what}. ${next}` // words handed on bring their cure along
    super(`${who}: ${told} [${code}]`, cause === undefined ? {} : { cause })
    this.code = code
    this.who = who
    this.happened = happened
  }
}

/** What happened, once: without who, cure and code, for a sentence that is wrapped in another or stands beside them. */
export function happenedOf(error: unknown): Words {
  return error instanceof BenchError ? error.happened : wordsOf(error)
}

/** Cause and cure for somebody at the bench: no address, no code. */
export function plainWords(error: unknown): Words {
  if (!(error instanceof BenchError)) return wordsOf(error)
  const { happened, code } = error
  return `${capitalised(sentence(happened))}. ${FAULTS[code].next}`
}

/** What went wrong, in words, whatever was thrown. */
export function wordsOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error)
}
