/** CSS px in a millimetre before a set-up: 96 px an inch, which is what a browser takes for granted. */
export const USUAL_PX_PER_MM = 96 / 25.4

/** A bank card, size ID-1 of ISO/IEC 7810, mm. */
export const CARD_MM = { width: 85.6, height: 53.98 } as const

/** What can be read at all, and what is read with ease: arc-minutes of a capital (NUREG-0700, 1.3.1; ISO 9241-3). */
export const LEGIBLE_ARC_MINUTES = 16
export const EASY_ARC_MINUTES = 20

/** Distances from eye to screen that can be chosen, m. */
export const DISTANCES_M = [0.3, 0.6, 1, 2] as const
export type DistanceM = (typeof DISTANCES_M)[number]

/** Screens outside these, CSS px in a millimetre, are mistakes of the set-up. */
export const LEAST_PX_PER_MM = 2
export const MOST_PX_PER_MM = 10

const RADIANS_PER_ARC_MINUTE = Math.PI / (180 * 60)

/** Height, mm, that fills an angle (arc-minutes) at a distance (m): h = 2 d tan(a/2). */
export function heightMm(distanceM: number, arcMinutes: number): number {
  return 2 * distanceM * 1000 * Math.tan((arcMinutes * RADIANS_PER_ARC_MINUTE) / 2)
}

/** Angle, arc-minutes, that a height (mm) fills at a distance (m). */
export function arcMinutesOf(tallMm: number, distanceM: number): number {
  return (2 * Math.atan(tallMm / (2 * distanceM * 1000))) / RADIANS_PER_ARC_MINUTE
}

/** Millimetres of a length in CSS px. */
export function mmOf(px: number, pxPerMm: number): number {
  return px / pxPerMm
}

/** CSS px in a millimetre, from the width at which a drawn card matches a real one. */
export function pxPerMmOf(cardPx: number): number {
  return cardPx / CARD_MM.width
}

/** What was stored, if it can be a screen; else null. */
export function screenOf(stored: unknown): number | null {
  return typeof stored === 'number' && stored >= LEAST_PX_PER_MM && stored <= MOST_PX_PER_MM ? stored : null
}

/** What was stored, if it is one of the distances; else 1 m. */
export function distanceOf(stored: unknown): DistanceM {
  return DISTANCES_M.find((one) => one === stored) ?? 1
}
