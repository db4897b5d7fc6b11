import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { type Adjuster, isAdjuster } from '../plant/adjusters.ts'
import type { Grip } from './grip.ts'
import type { PeakTurning } from './peak-turning.ts'
import type { SetTo } from './set-to.ts'
import type { Seen } from './sight.ts'
import { mayTurn } from './step-seen.ts'

/** Turning while the gauge shows a reading: to a target, over a top, or to see whether anything happens at all. */
export class Turning {
  readonly #grip: Grip
  readonly #setTo: SetTo
  readonly #peak: PeakTurning
  /** Larger moves made at an adjuster that has hardly any effect, and at which. */
  #tries = 0
  #triedAt = ''

  constructor(grip: Grip, setTo: SetTo, peak: PeakTurning) {
    this.#grip = grip
    this.#setTo = setTo
    this.#peak = peak
  }

  /** The guide wants turning, or says how far it is. */
  follow({ frame, nowMs, serviceMs }: Seen): void {
    const { technique, adjuster = '' } = frame.step ?? {}
    if (!mayTurn(frame)) this.#grip.off()
    else if (!isAdjuster(adjuster)) this.#grip.still()
    else if (technique === 'peak' || technique === 'dip') this.#peak.follow(frame, adjuster, nowMs)
    else if (frame.guide.hands === 'off') this.#grip.off()
    // a planned move ends by itself; told to hold, no new one is begun
    else if (frame.guide.way !== 'hold' || this.#grip.tool.busy()) this.#turnTo(frame, adjuster, serviceMs)
  }

  /** One small turn over a top, once each time a new one is asked for. */
  nudge({ frame }: Seen): void {
    const { adjuster = '' } = frame.step ?? {}
    if (!mayTurn(frame)) this.#grip.off()
    else if (isAdjuster(adjuster)) this.#peak.nudge(frame, adjuster)
  }

  /** A small turn is still being made. */
  nudging(): boolean {
    return this.#peak.nudging()
  }

  /** Hands still while the reading comes to rest; out where they are not wanted. */
  hold({ frame }: Seen): void {
    this.#grip.still()
    if (frame.guide.hands === 'off' || !mayTurn(frame)) this.#grip.tool.out()
  }

  /** Hardly any effect: a few larger moves, then it is left alone. */
  noEffect({ frame, nowMs, sinceMs }: Seen): void {
    const { tool } = this.#grip
    const { id, adjuster = '' } = frame.step ?? {}
    const where = `${id} ${adjuster}`
    if (where !== this.#triedAt) this.#tries = 0
    this.#triedAt = where
    if (!mayTurn(frame) || !isAdjuster(adjuster) || (this.#tries >= MOST_TRIES && !tool.busy())) this.#grip.rest()
    else if (!tool.busy() && nowMs - sinceMs >= LOOK_MS * this.#tries) {
      this.#tries += 1
      tool.turn(adjuster, (tool.direction(adjuster) || 1) * TRY_TURNS)
    }
  }

  #turnTo(frame: LiveFrame, adjuster: Adjuster, serviceMs: number): void {
    if (this.#grip.tool.busy()) return
    this.#grip.moved()
    const amount = this.#setTo.next(frame, adjuster, serviceMs)
    if (amount !== 0) this.#grip.move(adjuster, amount)
  }
}

const LOOK_MS = 1500
const MOST_TRIES = 3
const TRY_TURNS = 0.1
