import type { GaugeView, PegPlace } from '../view/view-gauge.ts'
import { make, makeSvg, mark, say, show } from './dom.ts'

/** Lines of the picture for one size of the canvas, all in CSS px. */
interface Lines {
  readonly width: number
  /** Thickness of the ground. */
  readonly line: number
  readonly ground: number
  readonly floor: number
  readonly peg: number
  /** Type size of the labels. */
  readonly type: number
}

function linesFor(width: number, height: number, type: number): Lines {
  const line = height < 150 ? 7 : 11
  const foot = type * 1.25 + line
  // half of it for the peg, but the slot is as deep as its labels are high
  const peg = Math.round(Math.min((height - foot) * 0.5, height - foot - line - type * 1.3))
  return { width, line, peg, type, ground: peg + line, floor: height - foot - line / 2 }
}

/** The slot and the peg. */
export interface GaugePicture {
  readonly element: HTMLElement
  draw(view: GaugeView): void
  /** Width of the axis now, CSS px. */
  width(): number
  /** The sizes of this device have changed. */
  restyle(): void
}

/** Makes the picture; it takes the size of its element and draws again when that changes. */
export function gaugePicture(): GaugePicture {
  const parts = gaugeParts()
  const { back, peg, front } = parts
  const element = make('div', 'gauge', back, peg, front)
  element.setAttribute('aria-hidden', 'true')
  let lines = linesFor(1000, 260, 30)
  let last: GaugeView | null = null
  const draw = (view: GaugeView) => {
    last = view
    drawGround(parts, lines, view)
    drawLabels(parts, lines, view)
    drawPeg(parts, lines, view)
  }
  let size = { width: 1000, height: 260 }
  const restyle = () => {
    lines = linesFor(size.width, size.height, Number.parseFloat(getComputedStyle(parts.low).fontSize))
    for (const sheet of [back, front]) mark(sheet, 'viewBox', `0 0 ${size.width} ${size.height}`)
    if (last !== null) draw(last)
  }
  new ResizeObserver(([entry]) => {
    if (entry === undefined || entry.contentRect.width < 10) return
    size = entry.contentRect
    restyle()
  }).observe(element)
  return { element, draw, restyle, width: () => lines.width }
}

type Parts = ReturnType<typeof gaugeParts>

/** Three sheets on each other; the peg has one of its own, so that its glide costs no drawing. */
function gaugeParts() {
  const path = (name: string) => makeSvg('path', { class: name })
  const text = (name: string) => makeSvg('text', { class: name })
  const lines = { marks: path('marks'), aim: path('aim'), arrow: path('arrow') }
  const pegShape = path('peg-shape')
  const walls = { bolt: path('bolt'), wall: path('wall'), ground: path('ground'), slot: path('ground slot') }
  const labels = {
    markLabel: text('gauge-label'),
    wallLabel: text('gauge-label'),
    low: text('gauge-label'),
    high: text('gauge-label'),
    aimLabel: text('gauge-label'),
    distance: text('distance'),
    zoom: text('gauge-label'),
  }
  const back = makeSvg('svg', {}, ...Object.values(lines))
  const peg = makeSvg('svg', { class: 'peg', width: 1, height: 1 }, patterns(), pegShape)
  const front = makeSvg('svg', {}, ...Object.values(walls), ...Object.values(labels))
  return { back, peg, front, pegShape, ...lines, ...walls, ...labels }
}

function pxOf(lines: Lines, x: number): number {
  return ((x + 1) / 2) * lines.width
}

function drawGround(parts: Parts, lines: Lines, view: GaugeView): void {
  const { ground, floor, width } = lines
  const left = view.left === null ? 0 : pxOf(lines, view.left)
  const right = view.right === null ? width : pxOf(lines, view.right)
  const before = view.left === null ? '' : `M0 ${ground}H${left}`
  const after = view.right === null ? '' : `M${right} ${ground}H${width}`
  mark(parts.ground, 'd', `${before}${after}`)
  const down = view.left === null ? `M0 ${floor}` : `M${left} ${ground}V${floor}`
  const up = view.right === null ? `H${width}` : `H${right}V${ground}`
  mark(parts.slot, 'd', `${down}${up}`)
  for (const part of [parts.ground, parts.slot, parts.bolt]) mark(part, 'stroke-width', lines.line)
  parts.slot.classList.toggle('dashed', view.dashed)
  drawAim(parts, lines, view)
  drawBolt(parts, lines, { left, right, share: view.bolt })
  const wall = view.wall
  mark(parts.wall, 'd', wall === null ? '' : wallPath(lines, pxOf(lines, wall.x)))
  mark(parts.marks, 'd', view.marks.map((one) => markPath(lines, pxOf(lines, one.x))).join(''))
}

/** The aim window: a raised sill on the floor with a notch at its middle. */
function drawAim(parts: Parts, lines: Lines, view: GaugeView): void {
  if (view.aim === null) {
    mark(parts.aim, 'd', '')
    return
  }
  const top = lines.floor - lines.line / 2
  const middle = pxOf(lines, (view.aim.from + view.aim.to) / 2)
  const half = lines.line * 1.5
  mark(parts.aim, 'd', `M${middle - half} ${top}L${middle} ${top - half * 1.2}L${middle + half} ${top}Z`)
}

function drawBolt(parts: Parts, lines: Lines, slot: { left: number; right: number; share: number }): void {
  if (slot.share <= 0) {
    mark(parts.bolt, 'd', '')
    return
  }
  const y = (lines.ground + lines.floor) / 2
  const reach = ((slot.right - slot.left) / 2) * slot.share
  mark(parts.bolt, 'd', `M${slot.left} ${y}H${slot.left + reach}M${slot.right} ${y}H${slot.right - reach}`)
}

function wallPath(lines: Lines, x: number): string {
  const half = lines.line * 0.9
  return `M${x - half} ${lines.type + 8}H${x + half}V${lines.floor}H${x - half}Z`
}

function markPath(lines: Lines, x: number): string {
  return `M${x} ${lines.ground - lines.line / 2}v${-lines.peg * 0.34}`
}

function drawLabels(parts: Parts, lines: Lines, view: GaugeView): void {
  const under = lines.ground + lines.line / 2 + lines.type * 1.2
  const foot = lines.floor + lines.line / 2 + lines.type * 1.2
  const gap = lines.type * 0.6
  put(parts.low, view.lowLabel, pxOf(lines, view.left ?? -1) - gap, under, 'end')
  put(parts.high, view.highLabel, pxOf(lines, view.right ?? 1) + gap, under, 'start')
  const wall = view.wall
  put(parts.wallLabel, wall?.label ?? '', pxOf(lines, wall?.x ?? 0), lines.type * 0.85, 'middle')
  const labelled = view.marks.find((one) => one.label !== '')
  put(parts.markLabel, labelled?.label ?? '', Math.max(0, pxOf(lines, labelled?.x ?? 0) - gap), under, 'start')
  const onLeft = view.distanceSide === 'left'
  const far = onLeft ? 0 : lines.width
  const anchor = onLeft ? 'start' : 'end'
  put(parts.distance, view.distance, far, foot, anchor)
  const aimX = view.aim === null ? lines.width / 2 : pxOf(lines, (view.aim.from + view.aim.to) / 2)
  const { aim, zoom } = footWords(lines, view, { gap, aimX })
  put(parts.aimLabel, aim, aimX, foot, 'middle')
  put(parts.zoom, zoom, onLeft ? lines.width : 0, foot, onLeft ? 'end' : 'start')
}

/** Widths of a letter, in heights of the labels' type: the distance is larger and heavier. */
const DISTANCE_EM = 0.75
const LABEL_EM = 0.62

/** What there is room for under the slot on a narrow screen: how far off it is comes first, then the aim, then the zoom. */
function footWords(
  lines: Lines,
  view: GaugeView,
  { gap, aimX }: { readonly gap: number; readonly aimX: number },
): { readonly aim: string; readonly zoom: string } {
  const wide = (text: string, em: number) => (text === '' ? 0 : text.length * em * lines.type + gap)
  const distance = wide(view.distance, DISTANCE_EM)
  const zoom = wide(view.zoomWords, LABEL_EM)
  const halfAim = wide(view.aimLabel, LABEL_EM) / 2
  const beside = view.distanceSide === 'left' ? aimX : lines.width - aimX
  const aimFits = distance + halfAim <= beside
  const zoomFits = aimFits ? zoom + halfAim <= lines.width - beside : distance + zoom <= lines.width
  return { aim: aimFits ? view.aimLabel : '', zoom: zoomFits ? view.zoomWords : '' }
}

function put(element: SVGTextElement, text: string, x: number, y: number, anchor: 'start' | 'middle' | 'end'): void {
  say(element, text)
  mark(element, 'x', Math.round(x))
  mark(element, 'y', Math.round(y))
  mark(element, 'text-anchor', anchor)
}

function drawPeg(parts: Parts, lines: Lines, view: GaugeView): void {
  show(parts.peg, view.peg !== null)
  if (view.peg === null) {
    mark(parts.arrow, 'd', '')
    return
  }
  const left = pxOf(lines, view.peg.from)
  const right = pxOf(lines, view.peg.to)
  const sink = view.peg.depth * (lines.floor - lines.ground)
  const x = (left + right) / 2
  const y = lines.ground - lines.line / 2 - lines.peg + sink
  parts.peg.style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)`
  mark(parts.peg, 'data-fill', view.peg.fill)
  mark(parts.pegShape, 'd', pegPath(view.peg, right - left, lines))
  mark(parts.arrow, 'd', view.arrow === '' ? '' : arrowPath(lines, view.arrow, { left, right }))
  mark(parts.arrow, 'data-fill', view.peg.fill)
}

const TEETH = 5

/** A block around x = 0 with its top at y = 0; a noisy reading makes its sides ragged. */
function pegPath(peg: PegPlace, width: number, lines: Lines): string {
  const half = width / 2
  const bite = Math.min(half * 0.35, peg.ragged * lines.line * 1.6)
  const tooth = lines.peg / (TEETH * 2)
  let right = ''
  let left = ''
  for (let at = 0; at < TEETH; at += 1) {
    right += `l${-bite} ${tooth}l${bite} ${tooth}`
    left += `l${bite} ${-tooth}l${-bite} ${-tooth}`
  }
  return `M${-half} 0H${half}${right}H${-half}${left}Z`
}

/** From beside the peg toward the slot, as long as there is room. */
function arrowPath(lines: Lines, way: 'left' | 'right', peg: { left: number; right: number }): string {
  const sign = way === 'left' ? -1 : 1
  const start = (way === 'left' ? peg.left : peg.right) + sign * lines.line * 2
  const length = lines.peg * 1.1
  const y = lines.ground - lines.line - lines.peg * 0.5
  const head = lines.peg * 0.2
  const tip = start + sign * length
  return `M${start} ${y}H${tip}m${-sign * head} ${-head}l${sign * head} ${head}l${-sign * head} ${head}`
}

/** Hatches lean left below and right above, so that colour is never alone. */
function patterns(): SVGDefsElement {
  const hatch = (id: string, turn: number) =>
    makeSvg(
      'pattern',
      { id, width: 14, height: 14, patternUnits: 'userSpaceOnUse', patternTransform: `rotate(${turn})` },
      makeSvg('rect', { width: 14, height: 14, class: 'hatch-ground' }),
      makeSvg('rect', { width: 9, height: 14, class: 'hatch-line' }),
    )
  return makeSvg('defs', {}, hatch('hatch-below', -45), hatch('hatch-above', 45), hatch('hatch-fuzzy', 90))
}
