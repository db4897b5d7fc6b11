import type { Filling } from '../../src/words/said/said.ts'
import { type Dictionary, sentence } from '../../src/words/sentence/sentence.ts'
import { type Code, ENGLISH, type Template } from './english/english.ts'

let spoken: Dictionary = ENGLISH

/** Chooses the language of the page's own words: before any other file of `web/words` is loaded, since words that stand still are read once. */
export function speakOnPage(language: (spoken: Dictionary) => Dictionary): void {
  spoken = language(spoken)
}

/**
 * Words of the page in the language that is spoken, their places filled; the compiler holds code and places against `english/`.
 *
 *     text('pedal.title')
 *     text('gauge.largest', { value: '3.86 W' })
 */
export function text<C extends Code>(code: C, ...[places]: Filling<Template<C>, string | number>): string {
  return sentence(places === undefined ? { said: code } : { said: code, with: places }, spoken)
}

/** How words that follow each other are joined; what says nothing is left out. */
export type Joint = 'joined.comma' | 'joined.semicolon' | 'joined.sentences' | 'joined.stop'

/** The parts that say something, one after the other; "" where none does. */
export function joined(joint: Joint, parts: readonly string[]): string {
  return parts
    .filter((part) => part !== '')
    .reduce((some, more) => (some === '' ? more : text(joint, { some, more })), '')
}
