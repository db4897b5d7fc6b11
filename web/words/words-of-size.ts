import type { DistanceM } from '../measure/arc-size.ts'
import type { TooSmall } from '../measure/type-sizes.ts'

/** The screen on which the page is fitted to its device. */
export const SIZE = {
  open: 'Fit to this screen',
  title: 'Fit to this screen',
  lead: 'Lay a bank card flat on the screen, its left side on the left line, and make the outline as wide as the card.',
  card: 'bank card, 85.6 mm wide',
  width: 'Width of the outline',
  smaller: 'Smaller',
  bigger: 'Bigger',
  keep: 'The card fits',
  forget: 'Forget it',
  back: 'Back',
  usual: 'Not set up yet: the usual 96 px an inch is assumed.',
  kept: 'Kept on this device.',
  unkept: 'Not kept yet.',
  distance: 'From your eyes to the screen',
  sideways: 'Turn this screen on its side: the gauge is as large as its width.',
} as const

const PARTS: Readonly<Record<TooSmall['part'], string>> = {
  number: 'the number',
  name: "the adjuster's name",
  guide: 'the sentence',
  second: 'the line under the sentence',
  label: 'the labels of the slot',
  place: 'the line about the adjuster',
  foot: 'the small line',
}

/** "0.3 m", as a choice. */
export function metres(distanceM: DistanceM): string {
  return `${distanceM} m`
}

/** What is too small, one sentence a part, and what helps: "At 2 m the small line is 12 arc-minutes: ...". */
export function sizeWords(distanceM: DistanceM, found: readonly TooSmall[]): readonly string[] {
  if (found.length === 0) return [`At ${metres(distanceM)} everything on the gauge is large enough to be read.`]
  const mm = found
    .filter(({ unit }) => unit === 'mm')
    .map(
      ({ part, is, wanted }) =>
        `${capital(PARTS[part])} is ${Math.floor(is)} mm high, ${wanted} mm are wanted: use a larger screen.`,
    )
  const small = found.filter(({ unit }) => unit === 'arc-minutes')
  if (small.length === 0) return mm
  return [...mm, `At ${metres(distanceM)} ${listOf(small)}: come nearer or use a larger screen.`]
}

/** "the sentence is 12 arc-minutes (20 are wanted), the labels 9, the small line 8 (16 are wanted)". */
function listOf(small: readonly TooSmall[]): string {
  return small
    .map(({ part, is, wanted }, index) => {
      const first = index === 0 ? ` ${part === 'label' ? 'are' : 'is'}` : ''
      const unit = index === 0 ? ' arc-minutes' : ''
      const last = small[index + 1]?.wanted === wanted ? '' : ` (${wanted} are wanted)`
      return `${PARTS[part]}${first} ${Math.round(is)}${unit}${last}`
    })
    .join(', ')
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1)
}
