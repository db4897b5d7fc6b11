import type { DistanceM } from '../measure/arc-size.ts'
import type { TooSmall } from '../measure/type-sizes.ts'
import { joined, text } from './text.ts'

/** The screen on which the page is fitted to its device. */
export const SIZE = {
  open: text('size.title'),
  title: text('size.title'),
  lead: text('size.lead'),
  card: text('size.card'),
  width: text('size.width'),
  smaller: text('size.smaller'),
  bigger: text('size.bigger'),
  keep: text('size.keep'),
  forget: text('size.forget'),
  back: text('size.back'),
  usual: text('size.usual'),
  kept: text('size.kept'),
  unkept: text('size.unkept'),
  distance: text('size.distance'),
  sideways: text('size.sideways'),
} as const

const PARTS: Readonly<Record<TooSmall['part'], string>> = {
  number: text('size.number'),
  name: text('size.name'),
  guide: text('size.guide'),
  second: text('size.second'),
  label: text('size.label'),
  place: text('size.place'),
  foot: text('size.foot'),
}

/** "0.3 m", as a choice. */
export function metres(distanceM: DistanceM): string {
  return `${distanceM} m`
}

/** What is too small, one sentence a part, and what helps: "At 2 m the small line is 12 arc-minutes: ...". */
export function sizeWords(distanceM: DistanceM, found: readonly TooSmall[]): readonly string[] {
  const distance = metres(distanceM)
  if (found.length === 0) return [text('size.all-large', { distance })]
  const mm = found
    .filter(({ unit }) => unit === 'mm')
    .map(({ part, is, wanted }) => text('size.too-low', { part: PARTS[part], is: Math.floor(is), wanted }))
  const small = found.filter(({ unit }) => unit === 'arc-minutes')
  if (small.length === 0) return mm
  return [...mm, text('size.too-small', { distance, parts: listOf(small) })]
}

/** "the sentence is 12 arc-minutes (20 are wanted), the labels 9, the small line 8 (16 are wanted)". */
function listOf(small: readonly TooSmall[]): string {
  const parts = small.map((one, index) => {
    const places = { part: PARTS[one.part], is: Math.round(one.is) }
    const first = one.part === 'label' ? 'size.first-labels' : 'size.first-part'
    const told = text(index === 0 ? first : 'size.next-part', places)
    const { wanted } = one
    return small[index + 1]?.wanted === wanted ? told : text('size.wanted', { told, wanted })
  })
  return joined('joined.comma', parts)
}
