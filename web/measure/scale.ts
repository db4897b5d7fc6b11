/**
 * The axis of the gauge: -1 at its left end, +1 at its right end, the slot from -1/3 to +1/3 at every zoom.
 * Inside the slot x = asinh(1.5 e) / asinh(18); outside the same curve, and beyond |e| = 12 a stretched one.
 */

const SLOT_HALF = Math.asinh(1.5) / Math.asinh(18)

/** Half-bands at the end of the axis for each zoom step. The axis never zooms in between. */
const ENDS = [12, 40, 150, 1500] as const

/** Share of a step's limit below which a zoomed-out axis comes back, so that noise at a limit does not make it jump. */
const BACK_AT = 0.9

export type Zoom = 0 | 1 | 2 | 3

/** The zoom step for an error, given the one in use. */
export function zoomFor(e: number, before: Zoom): Zoom {
  const far = Math.abs(e)
  const out = stepBeyond(far)
  if (out >= before) return out
  return far > ENDS[before === 0 ? 0 : lower(before)] * BACK_AT ? before : out
}

function stepBeyond(far: number): Zoom {
  if (far <= ENDS[0]) return 0
  if (far <= ENDS[1]) return 1
  return far <= ENDS[2] ? 2 : 3
}

function lower(zoom: 1 | 2 | 3): 0 | 1 | 2 {
  return zoom === 1 ? 0 : zoom === 2 ? 1 : 2
}

/** How many times more half-bands fit on the axis than without zoom. */
export function zoomFactor(zoom: Zoom): number {
  return zoom === 0 ? 1 : Math.round(ENDS[zoom] / ENDS[0])
}

/** Place of an error on the axis, held at its ends. */
export function placeOf(e: number, zoom: Zoom): number {
  const far = Math.abs(e)
  const side = e < 0 ? -1 : 1
  if (far <= 1) return (side * Math.asinh(1.5 * far)) / Math.asinh(18)
  const share = (Math.asinh(1.5 * far) - Math.asinh(1.5)) / (Math.asinh(1.5 * ENDS[zoom]) - Math.asinh(1.5))
  return side * Math.min(1, SLOT_HALF + share * (1 - SLOT_HALF))
}

/** Half the width of the slot on the axis: one third. */
export const SLOT_EDGE = SLOT_HALF
