import { holds, said, type Words } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { FAULTS, type FaultCode } from './faults.ts'

/**
 * The one error class: says who, what happened, and (from the registry) what to do next.
 * `message` reads "who: what happened, with the values. What to do next. [CODE]", in the language that is spoken.
 */
export class BenchError extends Error {
  override readonly name = 'BenchError'
  readonly code: FaultCode
  /** Instrument, driver and address, or the file, or the page: whoever the message is about. */
  readonly who: string
  readonly happened: Words

  constructor(code: FaultCode, who: string, happened: Words, cause?: unknown) {
    super(sentence(whole(code, who, happened)), cause === undefined ? {} : { cause })
    this.code = code
    this.who = who
    this.happened = happened
  }
}

/** What a BenchError's `message` says, as data. */
function whole(code: FaultCode, who: string, happened: Words): Words {
  const next = said(FAULTS[code].next)
  const told = bringsCure(code, happened) ? happened : said('fault.told', { happened, next })
  return said('fault.whole', { who, told, code })
}

/** Words handed on bring their cure along: it is not said again. */
function bringsCure(code: FaultCode, happened: Words): boolean {
  const { next } = FAULTS[code]
  return typeof happened === 'string' ? happened.endsWith(sentence(said(next))) : holds(happened, next)
}

/** What happened, once: without who, cure and code, for a sentence that is wrapped in another or stands beside them. */
export function happenedOf(error: unknown): Words {
  return error instanceof BenchError ? error.happened : wordsOf(error)
}

/** Cause and cure for somebody at the bench: no address, no code. */
export function plainWords(error: unknown): Words {
  if (!(error instanceof BenchError)) return wordsOf(error)
  const { happened, code } = error
  return said('fault.plain', { happened, next: said(FAULTS[code].next) })
}

/** Who, what happened, cure and code: what `message` says, as data. */
export function wholeWords(error: unknown): Words {
  return error instanceof BenchError ? whole(error.code, error.who, error.happened) : wordsOf(error)
}

/** What went wrong, as a text for the log, whatever was thrown; also what system and libraries say of it. */
export function wordsOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error)
}
