import type { Rng } from '../../src/system/rng.ts'
import { type Adjuster, type Positions, turned } from './adjusters.ts'
import { BAND_IDS, type BandId, bandOf, isBandId } from './channels.ts'
import { loseKey } from './keying.ts'
import { isMenuItem, MENU, offers } from './menu.ts'
import type { Leads, Plant } from './plant.ts'
import type { Microphone, Mode, Radio } from './radio.ts'

/** What a person at the simulated set sees of it: knobs, leads and the set's own display. No meter is here. */
export interface SetView {
  readonly positions: Positions
  readonly key: boolean
  /** What the display shows: the channel number, or "" without supply. */
  readonly display: string
  /** The set's own transmit sign beside the channel number. */
  readonly onAir: boolean
  /** The set's time-out timer has ended the transmission while the key is still down. */
  readonly timedOut: boolean
  readonly channel: number
  readonly mode: Mode
  readonly band: BandId
  readonly prod: Leads['prod']
  readonly common: Leads['common']
  readonly microphone: Microphone
  readonly whistling: boolean
  readonly load: boolean
  readonly cover: boolean
  readonly hand: Adjuster | null
  /** The set's menu and its band, as `settings` has them. */
  readonly settings: SetSettings
}

/** What a person notes of the set's own settings: item and value in the words of the display. */
export type SetSettings = Readonly<Record<string, string>>

/** What hands do at the simulated set. Nothing here is refused that a person could do; stops stop. */
export interface SimulatedSet {
  /**
   * By turns (VK, RT, DK, OK) or by shares of 270 degrees (PW, PC, PM, PD); positive is clockwise seen from the tool.
   * Returns how far it went: less than asked where a hand feels the stop.
   */
  turn(adjuster: Adjuster, by: number): number
  key(down: boolean): void
  /** Straight to a channel of the band in use; outside it the nearest end. */
  channel(n: number): void
  mode(mode: Mode): void
  prod(place: Leads['prod']): void
  common(place: Leads['common']): void
  microphone(what: Microphone): void
  /** Whistling and speaking loudly close to the set's own microphone, until told otherwise. */
  whistle(on: boolean): void
  load(on: boolean): void
  cover(on: boolean): void
  /** The tool or hand at an adjuster; null: away from all. */
  hand(near: Adjuster | null): void
  /** Off, two keys held, on again: the band changes, the key comes up. */
  powerOnBand(id: BandId): void
  /** Key click, time-out timer, brightness, end-of-call tone, call channel and band: "time-out timer" is "60 s". */
  settings(): SetSettings
  /** Off, the menu's keys held, on, one item changed; the key comes up. TypeError for an item or a value that the set does not have. */
  setting(name: string, value: string): void
  /** What a person at the set sees of knobs and sockets without a meter: the channel that is shown, the mode, what the microphone socket holds. */
  glance(): Glance
  view(): SetView
}

export type Glance = Pick<SetView, 'channel' | 'mode' | 'microphone'>

/** Hands for a plant. `rng` is for a loose core, which moves in steps of its own. */
export function createSimulatedSet(plant: Plant, rng: Rng): SimulatedSet {
  const withRadio = (alter: (radio: Radio) => void) => plant.change((state) => alter(state.radio))
  const switchedOffAndOn = (alter: (radio: Radio) => void) =>
    withRadio((radio) => {
      loseKey(radio)
      radio.keyPressed = false
      alter(radio)
    })
  const toBand = (id: BandId) =>
    switchedOffAndOn((radio) => {
      const { first, last } = bandOf(id)
      radio.band = id
      radio.channel = Math.min(Math.max(radio.channel, first), last)
    })
  return {
    turn: (adjuster, by) => {
      let went = 0
      withRadio((radio) => {
        went = turn(radio, adjuster, by, rng)
      })
      return went
    },
    key: (down) =>
      withRadio((radio) => {
        radio.keyPressed = down
      }),
    channel: (n) =>
      withRadio((radio) => {
        const { first, last } = bandOf(radio.band)
        radio.channel = Math.min(Math.max(Math.round(n), first), last)
      }),
    mode: (mode) =>
      withRadio((radio) => {
        radio.mode = mode
      }),
    prod: (place) =>
      plant.change((state) => {
        state.leads.prod = place
      }),
    common: (place) =>
      plant.change((state) => {
        state.leads.common = place
      }),
    microphone: (what) =>
      withRadio((radio) => {
        radio.microphone = what
      }),
    whistle: (on) =>
      withRadio((radio) => {
        radio.whistling = on
      }),
    load: (on) =>
      withRadio((radio) => {
        radio.load = on
      }),
    cover: (on) =>
      withRadio((radio) => {
        radio.cover = on
      }),
    hand: (near) =>
      withRadio((radio) => {
        radio.handNear = near
      }),
    powerOnBand: toBand,
    settings: () => settingsOf(plant.state().radio),
    setting: (name, value) => {
      if (!hasSetting(name, value)) throw new TypeError(`the set has no ${name} "${value}"`)
      if (isBandId(value)) toBand(value)
      else if (isMenuItem(name))
        switchedOffAndOn(({ menu }) => {
          menu[name] = value
        })
    },
    glance: () => {
      const { channel, mode, microphone } = plant.state().radio
      return { channel, mode, microphone }
    },
    view: () => viewOf(plant),
  }
}

/** Turns until it stops; returns how far it went. */
function turn(radio: Radio, adjuster: Adjuster, by: number, rng: Rng): number {
  const to = turned(adjuster, radio.positions[adjuster], by)
  const went = to - radio.positions[adjuster]
  radio.positions[adjuster] = to
  if (adjuster === 'OK')
    radio.outputCoreTurns = coreBehind(radio.outputCoreTurns, to, radio.parameters.looseCoreTurns, rng)
  return went
}

function viewOf(plant: Plant): SetView {
  const now = plant.observe()
  const { radio, leads } = plant.state()
  return {
    positions: { ...radio.positions },
    key: radio.keyPressed,
    display: now.working ? String(radio.channel) : '',
    onAir: now.transmitting,
    timedOut: radio.timedOut,
    channel: radio.channel,
    mode: radio.mode,
    band: radio.band,
    prod: leads.prod,
    common: leads.common,
    microphone: radio.microphone,
    whistling: radio.whistling,
    load: radio.load,
    cover: radio.cover,
    hand: radio.handNear,
    settings: settingsOf(radio),
  }
}

/** Whether a person could set `name` to `value` on this set. */
export function hasSetting(name: string, value: string): boolean {
  return name === 'band' ? isBandId(value) : isMenuItem(name) && offers(name, value)
}

/** Every setting with the values it can have, in the order of the menu. */
export const SETTINGS: Readonly<Record<string, readonly string[]>> = { ...MENU, band: BAND_IDS }

function settingsOf({ menu, band }: Radio): SetSettings {
  return { ...menu, band }
}

/** Where the output core is: with the tool, or, loose, dragged behind it with slop and now and then a step of its own. */
function coreBehind(core: number, tool: number, slopTurns: number, rng: Rng): number {
  if (slopTurns === 0) return tool
  const dragged = Math.min(Math.max(core, tool - slopTurns), tool + slopTurns)
  return dragged === core ? core : dragged + (rng() < STEP_SHARE ? (2 * rng() - 1) * slopTurns : 0)
}

const STEP_SHARE = 0.1
