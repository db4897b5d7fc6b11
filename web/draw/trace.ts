import uPlot from 'uplot'
import { printText } from '../../src/quantity/print-value.ts'
import { unitOf } from '../../src/quantity/quantity.ts'
import { type HistoryMark, type HistoryView, printed } from '../view/history.ts'
import { rangeOf, type Scale, spreadMarks } from '../view/trace-layout.ts'
import { HISTORY } from '../words/words-of-drawings.ts'

/** The chart of the last minutes, on a canvas of its own. */
export interface Trace {
  draw(view: HistoryView): void
}

interface Inks {
  readonly ink: string
  readonly mute: string
  readonly line: string
  readonly font: string
}

/** Type of the chart, CSS px, and rows for the words of marks above it. */
const TYPE_PX = 17
const MARK_ROWS = 2
const ROW_PX = 22

/** Puts the chart into an element and keeps to its size. Every colour is the page's own at the moment of drawing. */
export function openTrace(parent: HTMLElement): Trace {
  let shown: HistoryView | null = null
  let scale: Scale = { low: 0, high: 1, base: null }
  let inks = inksOf(parent)
  const ink = () => inks.ink
  const size = () => ({ width: Math.max(200, parent.clientWidth), height: Math.max(140, parent.clientHeight) })
  const plot = new uPlot(
    {
      ...size(),
      padding: [MARK_ROWS * ROW_PX + 4, 26, 0, 0],
      legend: { show: false },
      cursor: { show: false },
      select: { show: false, left: 0, top: 0, width: 0, height: 0 },
      scales: {
        x: { time: false, range: () => [fromS(shown), 0] },
        y: { range: () => [scale.low, scale.high] },
      },
      axes: [
        {
          stroke: () => inks.mute,
          font: font(),
          grid: { show: false },
          ticks: { stroke: () => inks.line, width: 1 },
          incrs: [5, 10, 30, 60, 120],
          space: 90,
          size: 30,
          values: (_, splits) => splits.map((at) => (at === 0 ? HISTORY.now : HISTORY.before(-at))),
        },
        {
          stroke: () => inks.ink,
          font: font(),
          grid: { stroke: () => inks.line, width: 1 },
          ticks: { show: false },
          space: 26,
          size: (_, values) => 22 + Math.max(...(values ?? ['']).map((text) => text.length)) * TYPE_PX * 0.62,
          values: (_, splits) => splits.map((at) => valueWords(at, shown, scale)),
        },
      ],
      series: [
        {},
        { stroke: ink, width: 0, points: { show: false } },
        { stroke: ink, width: 0, points: { show: false } },
        { stroke: ink, width: 2.5, points: { show: true, size: 6, fill: ink, width: 0, filter: alone } },
        { stroke: ink, width: 2, dash: [10, 7], points: { show: false }, paths: steps },
        { stroke: ink, width: 2, dash: [10, 7], points: { show: false }, paths: steps },
      ],
      bands: [{ series: [2, 1], fill: () => `color-mix(in srgb, ${inks.mute} 35%, transparent)` }],
      hooks: { draw: [(self) => drawMarks(self, shown, inks)] },
    },
    [[], [], [], [], [], []],
    parent,
  )
  new ResizeObserver(() => plot.setSize(size())).observe(parent)
  return {
    draw(view) {
      shown = view
      scale = rangeOf(view)
      inks = inksOf(parent)
      plot.setData(columns(view), true)
    },
  }
}

/** Edges are level from reading to reading, and jump where the band is another one. */
const steps: uPlot.Series.PathBuilder = (self, series, from, to) =>
  uPlot.paths.stepped?.({ align: 1 })(self, series, from, to) ?? null

function columns({ atS, edgeHighs, edgeLows, highs, lows, values }: HistoryView): uPlot.AlignedData {
  return [[...atS], [...lows], [...highs], [...values], [...edgeLows], [...edgeHighs]]
}

/** At least half a minute, then all there is. */
function fromS(view: HistoryView | null): number {
  return Math.min(-30, Math.floor((view?.atS[0] ?? 0) / 5) * 5)
}

/** A reading with nothing on either side has no line: it is a point. */
function alone(self: uPlot, series: number): number[] {
  const values = self.data[series] ?? []
  return [...values].flatMap((value, at) =>
    value != null && values[at - 1] == null && values[at + 1] == null ? [at] : [],
  )
}

/** On a scale that is narrow beside the value itself, the distance from its middle. */
function valueWords(at: number, view: HistoryView | null, { base }: Scale): string {
  if (view === null) return ''
  if (base === null) return printed(at, view.print)
  const unit = unitOf(view.quantity)
  const off = at - base
  return off === 0
    ? printText(base, unit)
    : `${off > 0 ? '+' : ''}${printed(off, { exponent: 0, decimals: 0, unit })} ${unit}`
}

/** Whose words go first where room is short. */
const RANKS: readonly (readonly HistoryMark['what'][])[] = [
  ['captured', 'marked', 'link lost', 'stopped'],
  ['stop', 'new best', 'passed over', 'link back'],
  ['key down', 'key up'],
]

/** A line for each moment, and its words above where they find room. */
function drawMarks(self: uPlot, view: HistoryView | null, inks: Inks): void {
  if (view === null) return
  const { ctx, bbox } = self
  const ratio = devicePixelRatio
  ctx.save()
  ctx.font = font(ratio)
  ctx.textBaseline = 'alphabetic'
  ctx.textAlign = 'left'
  const xs = view.marks.map(({ atS }) => self.valToPos(atS, 'x', true))
  const wanted = view.marks.map(({ what, words }, index) => ({
    x: xs[index] ?? 0,
    width: ctx.measureText(words).width + 14 * ratio,
    rank: RANKS.findIndex((kinds) => kinds.includes(what)),
  }))
  const placed = spreadMarks(wanted, { from: bbox.left, to: bbox.left + bbox.width, rows: MARK_ROWS })
  for (const [index, { words, what }] of view.marks.entries()) {
    const place = placed[index]
    const x = xs[index] ?? 0
    if (x < bbox.left) continue
    const top = bbox.top - (place == null ? 0 : (place.row + 0.2) * ROW_PX * ratio)
    ctx.strokeStyle = what === 'captured' || what === 'link lost' ? inks.ink : inks.mute
    ctx.lineWidth = (what === 'captured' ? 3 : 1.5) * ratio
    ctx.setLineDash(what === 'key up' ? [3 * ratio, 5 * ratio] : [])
    ctx.beginPath()
    ctx.moveTo(x, top)
    ctx.lineTo(x, bbox.top + bbox.height)
    ctx.stroke()
    if (place == null) continue
    ctx.fillStyle = inks.ink
    ctx.fillText(words, place.x + 5 * ratio, top - 3 * ratio)
  }
  ctx.restore()
}

function inksOf(element: HTMLElement): Inks {
  const style = getComputedStyle(element)
  const of = (name: string) => style.getPropertyValue(name).trim()
  return { ink: of('--ink'), mute: of('--mute'), line: of('--line'), font: font() }
}

function font(ratio = 1): string {
  return `${TYPE_PX * ratio}px system-ui, sans-serif`
}
