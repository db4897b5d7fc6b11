import type { HistoryView } from './history.ts'

/** From where to where the chart goes, in the unit of the quantity; `base`: the middle from which it counts where the scale is narrow beside the value. */
export interface Scale {
  readonly low: number
  readonly high: number
  readonly base: number | null
}

/** Room above and below, a share of what is shown. */
const MARGIN = 0.08
/** A scale narrower than this share of its middle counts from the middle. */
const NARROW = 0.002

/** A scale that shows everything that was read, and the edges of the band. */
export function rangeOf(view: HistoryView): Scale {
  const edges = [...view.edgeLows, ...view.edgeHighs].filter((value) => value !== null)
  const all = [...view.lows, ...view.highs, ...edges].filter((value) => value !== null)
  if (all.length === 0) return { low: 0, high: 1, base: null }
  const least = all.reduce((one, other) => Math.min(one, other))
  const most = all.reduce((one, other) => Math.max(one, other))
  const range = most - least || Math.abs(most) * 0.01 || 1
  const middle = edges.length === 0 ? (least + most) / 2 : (Math.min(...ends(edges)) + Math.max(...ends(edges))) / 2
  const scale = { low: least - range * MARGIN, high: most + range * MARGIN }
  return { ...scale, base: range < NARROW * Math.abs(middle) ? middle : null }
}

/** Least and largest of a list of any length. */
function ends(values: readonly number[]): readonly [number, number] {
  const first = values[0] ?? 0
  return [
    values.reduce((one, other) => Math.min(one, other), first),
    values.reduce((one, other) => Math.max(one, other), first),
  ]
}

/** Where the words of a mark begin, and in which row above the chart they stand. */
export interface WordsPlace {
  readonly x: number
  readonly row: number
}

/** A moment whose words want room: where it is and how wide they are, px; a smaller rank goes first. */
export interface MarkWords {
  readonly x: number
  readonly width: number
  readonly rank: number
}

/**
 * Finds a place for the words of each mark, weightier ones and then the newest first, so that none lies on another and none leaves
 * the chart: null where there is no room (its line stays).
 */
export function spreadMarks(
  marks: readonly MarkWords[],
  room: { readonly from: number; readonly to: number; readonly rows: number },
): readonly (WordsPlace | null)[] {
  const rows: (readonly [number, number])[][] = Array.from({ length: room.rows }, () => [])
  const places: (WordsPlace | null)[] = marks.map(() => null)
  const order = [...marks.keys()].sort((a, b) => (marks[a]?.rank ?? 0) - (marks[b]?.rank ?? 0) || b - a)
  for (const index of order) {
    const { x: at, width } = marks[index] ?? { x: 0, width: 0 }
    const x = Math.min(at, room.to - width)
    const row = rows.findIndex((taken) => taken.every(([from, to]) => x + width <= from || x >= to))
    if (row < 0 || x < room.from) continue
    rows[row]?.push([x, x + width])
    places[index] = { x, row }
  }
  return places
}
