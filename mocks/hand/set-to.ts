import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import type { Rng } from '../../src/system/rng.ts'
import { type Adjuster, TRAVEL } from '../plant/adjusters.ts'
import { finestStep, type Tool } from './tool.ts'

/** Turning to a target: move, hands still, look what it did, move again by what is left. */
export interface SetTo {
  /** The next move (turns, or shares of 270 degrees), or 0 while there is still something to look at. */
  next(frame: LiveFrame, adjuster: Adjuster, serviceMs: number): number
  /** Told when a move that `next` gave has been made; `reversed`: it began with the tool's play. */
  made(serviceMs: number): void
  /** Something else happened (key, tool taken out): look afresh from now on, and learn nothing from what was done before. */
  lookAfresh(serviceMs: number): void
}

interface Move {
  readonly amount: number
  readonly reversed: boolean
  readonly fromE: number
}

/** What is known of one adjuster on one step. */
interface Known {
  /** Change of e per unit of the adjuster, signed; null before the first effect was seen. */
  effect: number | null
  /** Whether clockwise is thought to raise the reading. */
  guess: 1 | -1
  probe: number
}

/** What was seen since hands were still. */
class Look {
  /** Service clock; null while the tool turns. */
  #sinceMs: number | null = 0
  #arrivedMs = 0
  #everyMs = 0
  #values: readonly number[] = []

  /** Looks from `sinceMs` on; null: not now. */
  from(sinceMs: number | null): void {
    this.#sinceMs = sinceMs
    this.#values = []
  }

  /** e now, once the readings tell what the last move did, which began at `fromE`; null while they do not. */
  settledE({ reading, peg }: LiveFrame, serviceMs: number, fromE: number | null): number | null {
    if (!reading || reading.value === null || !peg) return null
    if (reading.arrivedMs !== this.#arrivedMs) this.#take(reading.arrivedMs, peg.e)
    const [last, before] = [this.#values.at(-1), this.#values.at(-2)]
    if (this.#sinceMs === null || last === undefined) return null
    if (this.#everyMs > SLOW_METER_MS || serviceMs - this.#sinceMs > LONGEST_LOOK_MS) return last
    const calm = (fromE === null ? 0 : 0.03 * Math.abs(last - fromE)) + CALM_E * this.#values.length
    return before !== undefined && Math.abs(last - before) <= calm ? last : null
  }

  /** A new reading; it counts when it was begun with hands still. */
  #take(arrivedMs: number, e: number): void {
    const gapMs = arrivedMs - this.#arrivedMs
    if (this.#arrivedMs > 0 && gapMs < LONGEST_GAP_MS)
      this.#everyMs = this.#everyMs === 0 ? gapMs : this.#everyMs + 0.3 * (gapMs - this.#everyMs)
    this.#arrivedMs = arrivedMs
    const began = arrivedMs - this.#everyMs
    if (this.#sinceMs !== null && began >= this.#sinceMs) this.#values = [...this.#values, e]
  }
}

/** A head that knows no adjuster yet. The first direction is a guess; what is learned is remembered per step and adjuster. */
export function createSetTo(tool: Tool, rng: Rng, moveError: number): SetTo {
  const known = new Map<string, Known>()
  const guessed = new Map<Adjuster, 1 | -1>()
  let move: Move | null = null
  const look = new Look()

  /** A preset is expected to give more when it is turned clockwise; of anything else nothing is known. */
  const firstGuess = (adjuster: Adjuster) => (TRAVEL[adjuster].kind === 'preset' || rng() < 0.5 ? 1 : -1)

  const knownOf = (frame: LiveFrame, adjuster: Adjuster): Known => {
    const name = `${frame.step?.id ?? ''} ${adjuster}`
    const found = known.get(name)
    if (found) return found
    const fresh: Known = {
      effect: null,
      guess: guessed.get(adjuster) ?? saidGuess(frame) ?? firstGuess(adjuster),
      probe: FIRST_MOVE[TRAVEL[adjuster].kind],
    }
    known.set(name, fresh)
    return fresh
  }

  const learn = (about: Known, adjuster: Adjuster, made: Move, e: number) => {
    const change = e - made.fromE
    if (Math.abs(change) < VISIBLE_E) {
      about.probe *= 2
      if (tool.atStop(adjuster) !== 0) about.guess = about.guess === 1 ? -1 : 1
      return
    }
    const effect = change / made.amount
    const { effect: before } = about
    const alike = before !== null && effect / before > 0.5 && effect / before < 2
    // Play can only take from an effect, never add to it.
    const telling = !made.reversed || Math.abs(effect) > Math.abs(before ?? 0)
    if (before === null || effect / before < 0 || (telling && !alike)) about.effect = effect
    else if (telling) about.effect = (before + effect) / 2
    about.guess = about.effect !== null && about.effect < 0 ? -1 : 1
    guessed.set(adjuster, about.guess)
  }

  const reverses = (adjuster: Adjuster, sign: number) => tool.direction(adjuster) * sign < 0

  const moveBy = (frame: LiveFrame, adjuster: Adjuster, about: Known, e: number): number => {
    const { kind } = TRAVEL[adjuster]
    const wanted = frame.guide.way === 'up' ? Math.abs(e) : frame.guide.way === 'down' ? -Math.abs(e) : -e
    const most = MOST[kind]
    if (about.effect === null) return Math.sign(wanted) * about.guess * Math.min(about.probe, most)
    const made = (wanted / about.effect) * (Math.abs(e) > 1 ? FAR_SHARE : 1) * (1 + moveError * (2 * rng() - 1))
    const size = Math.min(Math.max(Math.abs(made), finestStep(adjuster)), most)
    const sign = Math.sign(made) || about.guess
    return sign * size
  }

  return {
    next: (frame, adjuster, serviceMs) => {
      const e = look.settledE(frame, serviceMs, move?.fromE ?? null)
      if (e === null || !frame.peg) return 0
      const about = knownOf(frame, adjuster)
      if (move) learn(about, adjuster, move, e)
      const amount = moveBy(frame, adjuster, about, e)
      const reversed = reverses(adjuster, Math.sign(amount))
      move = { amount, reversed, fromE: e }
      look.from(null)
      // Fingers feel that the tool has play and go on for about as much.
      const play = PLAY[TRAVEL[adjuster].kind]
      return amount + (reversed ? Math.sign(amount) * Math.min(play, Math.abs(amount) / 4) : 0)
    },
    made: (serviceMs) => {
      look.from(serviceMs)
    },
    lookAfresh: (serviceMs) => {
      move = null
      look.from(serviceMs)
    },
  }
}

/** The gauge may know from earlier moves which way round raises the reading. */
function saidGuess({ guide }: LiveFrame): 1 | -1 | null {
  const said = /\b(anti)?clockwise\b/.exec(guide.words)
  if (!said || (guide.way !== 'up' && guide.way !== 'down')) return null
  return (said[1] === undefined) === (guide.way === 'up') ? 1 : -1
}

/** First move of an adjuster whose effect is not known, and the largest at a time, in its own unit. */
const FIRST_MOVE = { coil: 0.05, preset: 5 / 270, endless: 4 / 360 } as const
const MOST = { coil: 0.5, preset: 45 / 270, endless: 30 / 360 } as const
/** What fingers expect of the tool's play. */
const PLAY = { coil: 0.03, preset: 1.5 / 270, endless: 1.5 / 360 } as const
/** A far target is approached a little short. */
const FAR_SHARE = 0.9
/** A change of e that counts as an effect, and how calm two readings must be, more so the sooner they come. */
const VISIBLE_E = 0.12
const CALM_E = 0.04
/** Readings further apart than this are taken as they come, one a move. */
const SLOW_METER_MS = 700
const LONGEST_LOOK_MS = 6000
const LONGEST_GAP_MS = 5000
