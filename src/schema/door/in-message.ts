import { isSaid, type Words } from '../../words/said/said.ts'

/** Before a sentence that travels as the message of an issue. */
const MARK = '\u0002'

/**
 * A sentence as the message of an issue, which the schema library wants to be a text; `wordsIn` has it out again, whatever kind of check
 * it was given to.
 *
 *     z.string().regex(/^[a-z]+$/, inMessage(said('file.expected-small-letters')))
 */
export function inMessage(words: Words): string {
  return typeof words === 'string' ? words : MARK + JSON.stringify(words)
}

/** The sentence in the message of an issue; a message of the library itself is given back as it is. */
export function wordsIn(message: string): Words {
  if (!message.startsWith(MARK)) return message
  const words: unknown = JSON.parse(message.slice(MARK.length))
  return isSaid(words) ? words : message
}
