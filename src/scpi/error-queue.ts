import { type ErrorClass, standardError } from './standard-errors.ts'

/** One item of an instrument's error queue: number and text unchanged; `detail` is what the instrument added after a semicolon. */
export interface QueuedError {
  readonly number: number
  readonly text: string
  readonly detail: string
  readonly kind: ErrorClass
}

/**
 * Reads a reply to SYSTem:ERRor? in the forms met: `-113,"Undefined header"`, `+0,"No error"`, `0,No error`, a bare `0`, single
 * quotes, a quote that never closes, a header before it, `"text;detail"`. Null when it is none of these. Compare the number, never the text.
 */
export function readError(reply: string): QueuedError | null {
  const [, digits, afterComma, afterBlank] = ITEM.exec(reply.trim()) ?? []
  if (digits === undefined) return null
  const number = Number.parseInt(digits, 10)
  const words = unquoted((afterComma ?? afterBlank ?? '').trim())
  const cut = words.indexOf(';')
  const text = (cut < 0 ? words : words.slice(0, cut)).trim()
  const known = standardError(number)
  return {
    number,
    text: text === '' ? known.text : text,
    detail: cut < 0 ? '' : words.slice(cut + 1).trim(),
    kind: known.kind,
  }
}

/** A header in long or short form, then a whole number, then perhaps a text: after a comma, or quoted after a blank. */
const ITEM = /^(?::?[A-Za-z][A-Za-z:]*[ \t]+)?([+-]?\d{1,5})(?:[ \t]*,(.*)|[ \t]+(["'].*))?$/s

function unquoted(text: string): string {
  const mark = text[0]
  if (mark !== '"' && mark !== "'") return text
  const inside = text.endsWith(mark) && text.length > 1 ? text.slice(1, -1) : text.slice(1)
  return inside.replaceAll(mark + mark, mark)
}

/** What a drained queue held. `ended`: it was empty, a reply was unreadable (`raw`), or it did not empty within 50 reads. */
export interface DrainedQueue {
  readonly errors: readonly QueuedError[]
  readonly ended: 'empty' | 'unreadable' | 'never empty'
  /** The last reply, unchanged. */
  readonly raw: string
}

/** Queues hold 10 to 30 items; a fault that comes back at once would fill them for ever. */
const MOST_READS = 50

/**
 * Empties an error queue: yields the question, takes the reply, until 0 comes. Whoever runs it does the asking:
 * `let step = drain.next(); while (!step.done) step = drain.next(await ask(step.value))`.
 */
export function* drainErrors(question = 'SYST:ERR?'): Generator<string, DrainedQueue, string> {
  const errors: QueuedError[] = []
  let raw = ''
  for (let reads = 0; reads < MOST_READS; reads++) {
    raw = yield question
    const error = readError(raw)
    if (error === null) return { errors, ended: 'unreadable', raw }
    if (error.number === 0) return { errors, ended: 'empty', raw }
    errors.push(error)
  }
  return { errors, ended: 'never empty', raw }
}
