import type { LiveFrame } from '../../src/schema/messages/live-frame.ts'

/** How long the last capture may be taken back, ms; the service has the last word. */
const TAKE_BACK_MS = 5000

/** A capture that can still be taken back, and since when this page knows of it, ms of the service's clock. */
export interface Offer {
  readonly number: number
  readonly sinceMs: number
}

/** Follows the offer from frame to frame; null while nothing can be taken back. */
export function followOffer(before: Offer | null, frame: LiveFrame): Offer | null {
  if (!frame.offers.includes('take back')) return null
  const number = Math.max(0, ...frame.captured.filter((one) => one.takenBack !== true).map((one) => one.number))
  return before?.number === number ? before : { number, sinceMs: frame.atMs }
}

/** Whole seconds that are left, at least 1 for as long as it is offered. */
export function secondsLeft(offer: Offer, nowMs: number): number {
  const leftS = Math.ceil((TAKE_BACK_MS - (nowMs - offer.sinceMs)) / 1000)
  return Math.min(TAKE_BACK_MS / 1000, Math.max(1, leftS))
}

/** What a long press would be: a value that is asked about is right, the last capture was a mistake, or this moment matters. Marks belong to a job. */
export function longPressOf(frame: LiveFrame): 'keep' | 'take back' | 'mark' | null {
  if (frame.offers.includes('keep')) return 'keep'
  if (frame.offers.includes('take back')) return 'take back'
  return frame.mode === 'job' ? 'mark' : null
}
