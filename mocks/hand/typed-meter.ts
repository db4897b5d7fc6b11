import type { Quantity } from '../../src/quantity/quantity.ts'
import type { FromPage, LiveFrame } from '../../src/schema/messages/live-frame.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { Displays } from '../instruments/displays.ts'
import { type Adjuster, isAdjuster } from '../plant/adjusters.ts'
import { aimOf, numberOn } from './display.ts'
import { createDisplayPeak } from './display-peak.ts'
import { createDisplaySet } from './display-set.ts'
import { saysOwnMicrophone } from './errands.ts'
import { draw, type Span } from './skill.ts'
import type { Tool } from './tool.ts'

/** What the eyes and fingers at a meter without a socket belong to. */
export interface Body {
  readonly tool: Tool
  readonly rng: Rng
  readonly moveError: number
  readonly displays: Displays
  keyIsDown(): boolean
  key(down: boolean): void
  whistle(on: boolean): void
  /** Tool out. */
  off(): void
  /** Asks; returns the id of the request. */
  ask(message: Omit<Extract<FromPage, { kind: 'type in' }>, 'id'>): string
}

/** Reads a meter without a socket with the key down, turning until it reads what is wanted; then, with the key up, types. */
export interface TypedMeter {
  /** `sinceMs`: since when it has been asked for; another one is another reading. */
  follow(frame: LiveFrame, nowMs: number, sinceMs: number): void
  /** What the service said to a request. */
  answered(answer: Answer): void
}

export interface Answer {
  readonly id: string
  readonly ok: boolean
  readonly words: string
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

/** Eyes that have read nothing yet. */
export function createTypedMeter(body: Body): TypedMeter {
  const { tool, rng } = body
  const peak = createDisplayPeak(tool, rng)
  const setting = createDisplaySet(tool, rng, body.moveError)
  let look: Look | null = null

  const lookAt = (sinceMs: number, nowMs: number, doubted: number | null = null) => {
    look = { sinceMs, stillMs: nowMs, upMs: null, largest: null, close: false, read: null, asked: null, doubted }
    return look
  }

  /** The key goes down when the set has rested, and up before its time is over; false while it is not down. */
  const keyed = (now: Look, frame: LiveFrame, nowMs: number): boolean => {
    const { key, step } = frame
    if (step?.transmit !== 'transmit') return true
    if (body.keyIsDown()) {
      if (key.share < LATEST_SHARE) return true
      tool.stop()
      setting.afresh()
      body.key(false)
      now.upMs = nowMs
      return false
    }
    now.upMs ??= nowMs
    if (key.keyed || key.restLeftS > 0 || nowMs - now.upMs < LEAST_REST_MS) return false
    body.key(true)
    now.upMs = null
    now.stillMs = nowMs
    return false
  }

  const keep = (now: Look, { text, value }: Shows, nowMs: number) => {
    now.read = { text, value, typeAtMs: nowMs + draw(TYPING_MS, rng) }
  }

  /** Long enough for a person, or as long as the key-down allows. */
  const stood = (now: Look, { key }: LiveFrame, nowMs: number, forMs: number) =>
    nowMs - now.stillMs > (key.share >= LAST_LOOK_SHARE ? LEAST_STAND_MS : forMs)

  /** The largest while it is looked for, with a whistle where the sheet wants one. */
  const highest = (now: Look, frame: LiveFrame, shows: Shows, nowMs: number) => {
    if (frame.step && saysOwnMicrophone(frame.step.where)) body.whistle(true)
    if (!now.largest || shows.value > now.largest.value) now.largest = shows
    if (stood(now, frame, nowMs, HIGHEST_MS)) keep(now, now.largest, nowMs)
  }

  /** Turned until the display is close to the aim and stays there. */
  const setTo = (now: Look, frame: LiveFrame, shows: Shows, at: Adjuster, nowMs: number) => {
    const near = aimOf(frame, shows.quantity)
    const off = near ? Math.abs(shows.value - near.aim) / near.half : 0
    const stoodMs = nowMs - now.stillMs
    if (off <= CLOSE_SHARE) now.close = true
    const flickers = now.close && off < FLICKER_SHARE && stoodMs < 2 * READS_AFTER_MS
    if (near && off > CLOSE_SHARE && !flickers) {
      now.close = false
      setting.look(at, shows.value, near)
    } else if (off <= CLOSE_SHARE && stoodMs > READS_AFTER_MS) keep(now, shows, nowMs)
  }

  const read = (now: Look, frame: LiveFrame, quantity: Quantity, nowMs: number) => {
    const text = body.displays()[quantity] ?? ''
    const value = numberOn(text, quantity)
    if (value === null) return
    const shows = { quantity, text, value }
    const { step } = frame
    const at = step?.pass === 'work' ? step.adjuster : ''
    const turns = isAdjuster(at) && ['set', 'peak', 'dip'].includes(step?.technique ?? '') ? at : null
    if (turns && (tool.busy() || nowMs - now.stillMs < LOOK_MS)) return
    if (turns && step?.technique === 'set') setTo(now, frame, shows, turns, nowMs)
    else if (turns) {
      if (peak.look(turns, step?.technique === 'dip' ? -value : value)) keep(now, shows, nowMs)
    } else if (step?.technique === 'highest') highest(now, frame, shows, nowMs)
    else if (stood(now, frame, nowMs, READS_AFTER_MS)) keep(now, shows, nowMs)
  }

  const type = (now: Look, quantity: Quantity, nowMs: number) => {
    body.off()
    body.key(false)
    if (!now.read || nowMs < now.read.typeAtMs) return
    if (now.asked) {
      if (nowMs - now.asked.atMs > AGAIN_MS) lookAt(now.sinceMs, nowMs, now.doubted)
      return
    }
    const { text, value } = now.read
    const sure = now.doubted !== null && Math.abs(value - now.doubted) <= SAME_SHARE * Math.abs(now.doubted)
    const id = body.ask({ kind: 'type in', quantity, text, ...(sure ? { sure } : {}) })
    now.asked = { id, atMs: nowMs }
  }

  return {
    follow: (frame, nowMs, sinceMs) => {
      const quantity = frame.typing?.quantity
      if (!quantity) return body.off()
      if (look?.sinceMs !== sinceMs) {
        peak.afresh()
        setting.afresh()
      }
      const now = look?.sinceMs === sinceMs ? look : lookAt(sinceMs, nowMs)
      if (now.read) return type(now, quantity, nowMs)
      if (tool.busy()) now.stillMs = nowMs
      if (keyed(now, frame, nowMs)) read(now, frame, quantity, nowMs)
    },
    answered: ({ id, ok, words }) => {
      if (!look?.read || look.asked?.id !== id || ok || !words.startsWith(`${look.read.text}?`)) return
      lookAt(look.sinceMs, look.asked.atMs, look.read.value)
    },
  }
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
