import type { PlaceOfStep } from '../../schema/messages/live-frame.ts'

type Said = Pick<PlaceOfStep, 'is' | 'name' | 'words'>

const KINDS: Partial<Readonly<Record<Said['is'], string>>> = {
  oscillator: 'oscillator in, microphone unplugged',
  own: "the set's own",
  shorted: 'oscillator shorted',
  empty: 'oscillator lead off',
}

/** A place inside a sentence: in its sheet's own words, by the name on the board, else by its kind. */
export function plainWords({ is, name, words }: Said): string {
  if (words !== '') return words
  return is === 'strip' ? `earth strip ${name}`.trimEnd() : name || (KINDS[is] ?? is)
}

/** Two steps mean one place. */
export function isSamePlace(a: Said, b: Said): boolean {
  return a.is === b.is && a.name === b.name && a.words === b.words
}
