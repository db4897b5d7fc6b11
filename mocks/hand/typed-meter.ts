import type { Quantity } from '../../src/quantity/quantity.ts'
import type { FromPage } from '../../src/schema/messages/shown.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { Displays } from '../instruments/displays.ts'
import { type Adjuster, isAdjuster } from '../plant/adjusters.ts'
import { aimOf, numberOn } from './display.ts'
import { createDisplayPeak, type DisplayPeak } from './display-peak.ts'
import { createDisplaySet, type DisplaySet } from './display-set.ts'
import { saysOwnMicrophone } from './errands.ts'
import type { Grip } from './grip.ts'
import type { Seen } from './sight.ts'
import { draw, type Span } from './skill.ts'

/** What the eyes and fingers at a meter without a socket belong to. */
export interface Body {
  readonly grip: Grip
  readonly rng: Rng
  readonly moveError: number
  readonly displays: Displays
  /** Asks; returns the id of the request. */
  ask(message: Omit<Extract<FromPage, { kind: 'type in' }>, 'id'>): string
}

export interface Answer {
  readonly id: string
  /** It is asked whether the value is meant so. */
  readonly asksBack?: true
}

interface Shows {
  readonly quantity: Quantity
  readonly text: string
  readonly value: number
}

interface Look {
  readonly sinceMs: number
  /** Since when nothing was moved or keyed. */
  stillMs: number
  /** When the key came up again, for a rest in the middle. */
  upMs: number | null
  largest: Shows | null
  /** It has read close to the aim since the last turn. */
  close: boolean
  /** Ready to be typed. */
  read: { readonly text: string; readonly value: number; readonly typeAtMs: number } | null
  asked: { readonly id: string; readonly atMs: number } | null
  /** The service asked whether this is ten times off. */
  doubted: number | null
}

/** Reads a meter without a socket with the key down, turning until it reads what is wanted; then, with the key up, types. Its eyes have read nothing yet. */
export class TypedMeter {
  readonly #body: Body
  readonly #peak: DisplayPeak
  readonly #setting: DisplaySet
  #look: Look | null = null

  constructor(body: Body) {
    const { grip, rng, moveError } = body
    this.#body = body
    this.#peak = createDisplayPeak(grip.tool, rng)
    this.#setting = createDisplaySet(grip.tool, rng, moveError)
  }

  /** A reading is asked for; shown since another moment, it is another reading. */
  follow(seen: Seen): void {
    const { grip } = this.#body
    const { frame, nowMs, sinceMs } = seen
    const quantity = frame.typing?.quantity
    if (!quantity) {
      grip.off()
      return
    }
    if (this.#look?.sinceMs !== sinceMs) {
      this.#peak.afresh()
      this.#setting.afresh()
    }
    const now = this.#look?.sinceMs === sinceMs ? this.#look : this.#lookAt(sinceMs, nowMs)
    if (now.read) {
      this.#type(now, quantity, nowMs)
      return
    }
    if (grip.tool.busy()) now.stillMs = nowMs
    if (this.#keyed(now, seen)) this.#read(now, seen, quantity)
  }

  /** What the service said to a request. */
  answered({ id, asksBack }: Answer): void {
    const look = this.#look
    if (!look?.read || look.asked?.id !== id || asksBack !== true) return
    this.#lookAt(look.sinceMs, look.asked.atMs, look.read.value)
  }

  #lookAt(sinceMs: number, nowMs: number, doubted: number | null = null): Look {
    this.#look = { sinceMs, stillMs: nowMs, upMs: null, largest: null, close: false, read: null, asked: null, doubted }
    return this.#look
  }

  /** The key goes down when the set has rested, and up before its time is over; false while it is not down. */
  #keyed(now: Look, { frame, nowMs }: Seen): boolean {
    const { grip } = this.#body
    const { key, step } = frame
    if (step?.transmit !== 'transmit') return true
    if (grip.keyIsDown) {
      if (key.share < LATEST_SHARE) return true
      grip.tool.stop()
      this.#setting.afresh()
      grip.key(false)
      now.upMs = nowMs
      return false
    }
    now.upMs ??= nowMs
    if (key.keyed || key.restLeftS > 0 || nowMs - now.upMs < LEAST_REST_MS) return false
    grip.key(true)
    now.upMs = null
    now.stillMs = nowMs
    return false
  }

  #keep(now: Look, { text, value }: Shows, nowMs: number): void {
    now.read = { text, value, typeAtMs: nowMs + draw(TYPING_MS, this.#body.rng) }
  }

  /** The largest while it is looked for, with a whistle where the sheet wants one. */
  #highest(now: Look, seen: Seen, shows: Shows): void {
    const { frame, nowMs } = seen
    if (frame.step && saysOwnMicrophone(frame.step.where)) this.#body.grip.whistle(true)
    if (!now.largest || shows.value > now.largest.value) now.largest = shows
    if (stood(now, seen, HIGHEST_MS)) this.#keep(now, now.largest, nowMs)
  }

  /** Turned until the display is close to the aim and stays there. */
  #setTo(now: Look, { frame, nowMs }: Seen, shows: Shows, at: Adjuster): void {
    const near = aimOf(frame, shows.quantity)
    const off = near ? Math.abs(shows.value - near.aim) / near.half : 0
    const stoodMs = nowMs - now.stillMs
    if (off <= CLOSE_SHARE) now.close = true
    const flickers = now.close && off < FLICKER_SHARE && stoodMs < 2 * READS_AFTER_MS
    if (near && off > CLOSE_SHARE && !flickers) {
      now.close = false
      this.#setting.look(at, shows.value, near)
    } else if (off <= CLOSE_SHARE && stoodMs > READS_AFTER_MS) this.#keep(now, shows, nowMs)
  }

  #read(now: Look, seen: Seen, quantity: Quantity): void {
    const { frame, nowMs } = seen
    const text = this.#body.displays()[quantity] ?? ''
    const value = numberOn(text, quantity)
    if (value === null) return
    const shows = { quantity, text, value }
    const { step } = frame
    const at = step?.pass === 'work' ? step.adjuster : ''
    const turns = isAdjuster(at) && ['set', 'peak', 'dip'].includes(step?.technique ?? '') ? at : null
    if (turns && (this.#body.grip.tool.busy() || nowMs - now.stillMs < LOOK_MS)) return
    if (turns && step?.technique === 'set') this.#setTo(now, seen, shows, turns)
    else if (turns) {
      if (this.#peak.look(turns, step?.technique === 'dip' ? -value : value)) this.#keep(now, shows, nowMs)
    } else if (step?.technique === 'highest') this.#highest(now, seen, shows)
    else if (stood(now, seen, READS_AFTER_MS)) this.#keep(now, shows, nowMs)
  }

  #type(now: Look, quantity: Quantity, nowMs: number): void {
    const { grip, ask } = this.#body
    grip.off()
    grip.key(false)
    if (!now.read || nowMs < now.read.typeAtMs) return
    if (now.asked) {
      if (nowMs - now.asked.atMs > AGAIN_MS) this.#lookAt(now.sinceMs, nowMs, now.doubted)
      return
    }
    const { text, value } = now.read
    const sure = now.doubted !== null && Math.abs(value - now.doubted) <= SAME_SHARE * Math.abs(now.doubted)
    const id = ask({ kind: 'type in', quantity, text, ...(sure ? { sure } : {}) })
    now.asked = { id, atMs: nowMs }
  }
}

/** Long enough for a person, or as long as the key-down allows. */
function stood(now: Look, { frame, nowMs }: Seen, forMs: number): boolean {
  return nowMs - now.stillMs > (frame.key.share >= LAST_LOOK_SHARE ? LEAST_STAND_MS : forMs)
}

/** A display is read when it has stood so long: a pointer, or a detector that locks first. */
const READS_AFTER_MS = 2500
/** After each turn. */
const LOOK_MS = 1000
/** How long the largest is looked for. */
const HIGHEST_MS = 5000
/** Shares of a key-down: from the first on a short look has to do; at the second the key comes up. */
const LAST_LOOK_SHARE = 0.7
const LATEST_SHARE = 0.85
const LEAST_STAND_MS = 1500
const LEAST_REST_MS = 2000
/** From the key up to a value typed, ms: the service has seen the key come up by then. */
const TYPING_MS: Span = [1500, 2500]
/** A value that nobody took is read again after this long. */
const AGAIN_MS = 12_000
/** Inside this share of the aim window the hand is content. */
const CLOSE_SHARE = 0.6
/** The last digit may jump so far once it has been close. */
const FLICKER_SHARE = 1.3
/** The same as what was asked about. */
const SAME_SHARE = 0.05
