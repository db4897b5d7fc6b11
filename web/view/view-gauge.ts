import type { LiveFrame, PegView, SlotView } from '../../src/schema/messages/shown.ts'
import { placeOf, SLOT_EDGE, type Zoom, zoomFactor, zoomFor } from '../measure/scale.ts'
import { AT_THE_EDGE, distanceWords, largestWords, METER_TOO_COARSE, START_MARK, zoomWords } from '../words/words.ts'
import { capturedHere } from './view-number.ts'

/** How a peg is filled; `open` while nobody knows yet how high it can go, `fuzzy` for readings that do not count yet. */
export type Fill = 'below' | 'above' | 'in' | 'old' | 'open' | 'fuzzy'

/** The slot and the peg as plain places: x from -1 (left end) to +1 (right end), depths and shares from 0 to 1. */
export interface GaugeView {
  /** Place of each wall of the slot; null where the band is open. */
  readonly left: number | null
  readonly right: number | null
  /** Not proved yet: the first climb of a peak. */
  readonly dashed: boolean
  readonly lowLabel: string
  readonly highLabel: string
  readonly aimLabel: string
  readonly aim: { readonly from: number; readonly to: number } | null
  readonly wall: { readonly x: number; readonly label: string } | null
  readonly marks: readonly { readonly x: number; readonly label: string }[]
  readonly peg: PegPlace | null
  /** Which way the reading should go, beside the peg. */
  readonly arrow: 'left' | 'right' | ''
  /** The bolt closes from both walls as the reading settles; 1 is locked. */
  readonly bolt: number
  readonly zoom: Zoom
  readonly zoomWords: string
  /** How far, in words under the ground on the side of the peg; "" inside. */
  readonly distance: string
  readonly distanceSide: 'left' | 'right'
}

export interface PegPlace {
  readonly from: number
  readonly to: number
  /** 0: stands on the ground; 1: on the floor of the slot. */
  readonly depth: number
  readonly ragged: number
  readonly fill: Fill
}

/** Facts of this page that a gauge needs beside the frame. */
export interface GaugePage {
  readonly zoomBefore: Zoom
  /** Width of the axis, CSS px, for the thinnest peg. */
  readonly gaugePx: number
  /** CSS px in a millimetre of this screen. */
  readonly pxPerMm: number
}

/** The thinnest peg drawn, however good the meter. */
const THINNEST_MM = 6

/** A peg that is inside stays in the slot until it is this far out. */
const STILL_IN = 1.08

/** First rest of a peg that is inside the slot and has not begun to settle. */
const SUNK = 0.22

/** Everything of the slot and the peg for one frame; null where the frame has no slot. */
export function gaugeOf(frame: LiveFrame, fill: Fill, page: GaugePage): GaugeView | null {
  const slot = frame.slot
  if (slot === null) return null
  const zoom = frame.peg === null ? 0 : zoomFor(frame.peg.e, page.zoomBefore)
  const inside = frame.peg !== null && isInside(frame, frame.peg)
  return {
    ...slotOf(slot, zoom),
    ...largestOf(frame),
    dashed: slot.kind === 'peak' && frame.state === 'climb' && frame.peak?.proved !== true,
    marks: slot.kind === 'peak' ? marksOf(frame, slot, zoom) : largestMarks(frame, zoom),
    peg:
      frame.peg === null || !stands(frame, inside)
        ? null
        : pegOf(frame, frame.peg, { zoom, inside, fill, thinnest: (2 * THINNEST_MM * page.pxPerMm) / page.gaugePx }),
    arrow: arrowOf(frame, fill),
    bolt: boltOf(frame),
    zoom,
    zoomWords: zoomWords(zoomFactor(zoom)),
    distance: inside || frame.peg === null || !says(fill, slot) ? '' : distanceWords(frame.peg.e),
    distanceSide: frame.peg !== null && frame.peg.e < 0 ? 'left' : 'right',
  }
}

function slotOf(slot: SlotView, zoom: Zoom) {
  if (slot.kind === 'peak') {
    const none = { lowLabel: '', highLabel: '', aim: null, wall: null }
    return { ...none, left: -SLOT_EDGE, right: SLOT_EDGE, aimLabel: slot.bestLabel }
  }
  const open = slot.openLow || slot.openHigh
  return {
    left: slot.openLow ? null : -SLOT_EDGE,
    right: slot.openHigh ? null : SLOT_EDGE,
    lowLabel: slot.openLow ? '' : slot.lowLabel,
    highLabel: slot.openHigh ? '' : slot.highLabel,
    aimLabel: open ? '' : slot.aimLabel,
    aim: open ? null : { from: placeOf(slot.aimLowE, zoom), to: placeOf(slot.aimHighE, zoom) },
    wall: slot.wallE === null ? null : { x: placeOf(slot.wallE, zoom), label: slot.wallLabel },
  }
}

/** While the largest is looked for nothing is aimed at: the label under the slot is the largest so far. */
function largestOf(frame: LiveFrame) {
  if (frame.state !== 'highest') return {}
  return { aim: null, aimLabel: frame.largest === undefined ? '' : largestWords(frame.largest.label) }
}

function largestMarks(frame: LiveFrame, zoom: Zoom) {
  return frame.state !== 'highest' || frame.largest === undefined
    ? []
    : [{ x: placeOf(frame.largest.e, zoom), label: '' }]
}

/** Where this peak began, and how far it has to fall before the best counts as passed. */
function marksOf(frame: LiveFrame, slot: Extract<SlotView, { kind: 'peak' }>, zoom: Zoom) {
  const marks = [{ x: placeOf(-slot.passOverDb / slot.windowDb, zoom), label: '' }]
  if (frame.peak === null) return marks
  const startE = -(frame.peak.fromStartDb + frame.peak.belowDb) / slot.windowDb
  if (startE < -1) marks.push({ x: placeOf(startE, zoom), label: START_MARK })
  return marks
}

function isInside(frame: LiveFrame, peg: PegView): boolean {
  if (frame.slot?.kind === 'band') {
    if (frame.slot.openLow && peg.e < 1) return true
    if (frame.slot.openHigh && peg.e > -1) return true
  }
  const held = frame.state === 'in' || frame.state === 'steady' || frame.state === 'at best'
  return Math.abs(peg.e) <= (held ? STILL_IN : 1)
}

/** Once a value inside the band is captured the reading may go where it likes (the key is up): it says nothing any more. */
function stands(frame: LiveFrame, inside: boolean): boolean {
  return frame.state !== 'captured' || inside || capturedHere(frame)?.verdict !== 'inside'
}

interface PegFacts {
  readonly zoom: Zoom
  readonly inside: boolean
  readonly fill: Fill
  /** Width of the thinnest peg on the axis. */
  readonly thinnest: number
}

/**
 * Where the peg is drawn. Its sides are e - halfE and e + halfE on the axis. Outside the slot the axis shrinks things, so
 * there the side toward the slot is true and the peg keeps the width with which it will have to fit.
 */
function pegOf(frame: LiveFrame, peg: PegView, facts: PegFacts): PegPlace {
  const low = placeOf(peg.e - peg.halfE, facts.zoom)
  const high = placeOf(peg.e + peg.halfE, facts.zoom)
  const fitting = SLOT_EDGE - placeOf(1 - 2 * peg.halfE, 0)
  const wide = Math.max(facts.thinnest, high - low, peg.e - peg.halfE > 1 || peg.e + peg.halfE < -1 ? fitting : 0)
  const sides = facts.inside ? sidesInside(low, high, wide) : sidesOutside(peg, low, high, wide)
  const drop = frame.state === 'captured' ? 1 : clamp(peg.drop, 0, 1)
  const depth = facts.inside ? SUNK + (1 - SUNK) * drop : 0
  return { ...onScreen(sides), depth, ragged: clamp(peg.ragged, 0, 1), fill: facts.fill }
}

/** A peg that is truly clear of both walls is drawn clear of them, though it is drawn at its thinnest. */
function sidesInside(low: number, high: number, wide: number) {
  const middle = (low + high) / 2
  let from = middle - wide / 2
  const clear = low >= -SLOT_EDGE && high <= SLOT_EDGE
  if (clear) from = clamp(from, -SLOT_EDGE, Math.max(-SLOT_EDGE, SLOT_EDGE - wide))
  return { from, to: from + wide }
}

function sidesOutside(peg: PegView, low: number, high: number, wide: number) {
  if (peg.e - peg.halfE > 1) return { from: low, to: low + wide }
  if (peg.e + peg.halfE < -1) return { from: high - wide, to: high }
  const middle = (low + high) / 2
  return { from: middle - wide / 2, to: middle + wide / 2 }
}

function onScreen(sides: { from: number; to: number }) {
  const shift = sides.to > 1 ? 1 - sides.to : sides.from < -1 ? -1 - sides.from : 0
  return { from: Math.max(-1, sides.from + shift), to: Math.min(1, sides.to + shift) }
}

function arrowOf(frame: LiveFrame, fill: Fill): 'left' | 'right' | '' {
  const { peg, guide, slot } = frame
  if (peg === null || slot === null || fill === 'old' || fill === 'fuzzy' || fill === 'open') return ''
  if (fill === 'in') return guide.way === 'up' ? 'right' : guide.way === 'down' ? 'left' : ''
  if (Math.abs(peg.e) <= 1) return ''
  return peg.e > 0 ? 'left' : 'right'
}

function boltOf(frame: LiveFrame): number {
  if (frame.state === 'captured') return 1
  if (frame.state === 'steady' || frame.state === 'at best') return clamp(frame.settle.share, 0, 1)
  return 0
}

function says(fill: Fill, slot: SlotView): boolean {
  return slot.kind === 'band' && (fill === 'below' || fill === 'above')
}

/** What the width of the peg has to say: it is wider than the slot, or it is in and touches a wall; else "". */
export function doubtOf(frame: LiveFrame): string {
  const { slot, peg } = frame
  if (peg === null || slot === null || slot.kind === 'peak') return ''
  if (!slot.openLow && !slot.openHigh && peg.halfE > 1) return METER_TOO_COARSE
  const touches = (!slot.openHigh && peg.e + peg.halfE > 1) || (!slot.openLow && peg.e - peg.halfE < -1)
  return touches && isInside(frame, peg) ? AT_THE_EDGE : ''
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value))
}
