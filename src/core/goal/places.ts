import type { PlaceOfStep } from '../../schema/messages/live-frame.ts'
import { type Said, said, type Words } from '../../words/said/said.ts'

type Named = Pick<PlaceOfStep, 'is' | 'name' | 'words'>

const KINDS: Readonly<Record<Named['is'], Said>> = {
  board: said('place.board'),
  plug: said('place.plug'),
  strip: said('place.earth-strip-unnamed'),
  solder: said('place.solder-side'),
  component: said('place.component-side'),
  blade: said('place.blade'),
  'non-metal blade': said('place.non-metal-blade'),
  'ceramic blade': said('place.ceramic-blade'),
  hexagon: said('place.hexagon'),
  'non-metal': said('place.non-metal'),
  ceramic: said('place.ceramic'),
  oscillator: said('place.microphone-oscillator'),
  own: said('place.microphone-own'),
  shorted: said('place.microphone-shorted'),
  empty: said('place.microphone-empty'),
  other: said('place.other'),
}

/** A place inside a sentence: in its sheet's own words, by the name on the board, else by its kind. */
export function plainWords({ is, name, words }: Named): Words {
  if (words !== '') return words
  if (name === '') return KINDS[is]
  return is === 'strip' ? said('place.earth-strip', { name }) : name
}

/** Two steps mean one place. */
export function isSamePlace(a: Named, b: Named): boolean {
  return a.is === b.is && a.name === b.name && a.words === b.words
}
