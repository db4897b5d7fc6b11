import type { Rng } from '../src/system/rng.ts'
import { type Adjuster, type Positions, turned } from './plant/adjusters.ts'
import { type BandId, bandOf } from './plant/channels.ts'
import type { Leads, Plant } from './plant/plant.ts'
import type { Microphone, Mode } from './plant/radio.ts'

/** What a person at the simulated set sees of it: knobs, leads and the set's own display. No meter is here. */
export interface SetView {
  readonly positions: Positions
  readonly key: boolean
  /** What the display shows: the channel number, or "" without supply. */
  readonly display: string
  /** The set's own transmit sign beside the channel number. */
  readonly onAir: boolean
  readonly channel: number
  readonly mode: Mode
  readonly band: BandId
  readonly prod: Leads['prod']
  readonly common: Leads['common']
  readonly microphone: Microphone
  readonly load: boolean
  readonly cover: boolean
  readonly hand: Adjuster | null
}

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
  load(on: boolean): void
  cover(on: boolean): void
  /** The tool or hand at an adjuster; null: away from all. */
  hand(near: Adjuster | null): void
  /** Off, two keys held, on again: the band changes, the key comes up. */
  powerOnBand(id: BandId): void
  view(): SetView
}

/** Hands for a plant. `rng` is for a loose core, which moves in steps of its own. */
export function createSimulatedSet(plant: Plant, rng: Rng): SimulatedSet {
  const withRadio = (alter: (radio: Parameters<Parameters<Plant['change']>[0]>[0]['radio']) => void) =>
    plant.change((state) => alter(state.radio))
  return {
    turn: (adjuster, by) => {
      let went = 0
      withRadio((radio) => {
        const to = turned(adjuster, radio.positions[adjuster], by)
        went = to - radio.positions[adjuster]
        radio.positions[adjuster] = to
        if (adjuster === 'OK')
          radio.outputCoreTurns = coreBehind(radio.outputCoreTurns, to, radio.parameters.looseCoreTurns, rng)
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
    powerOnBand: (id) =>
      withRadio((radio) => {
        const { first, last } = bandOf(id)
        radio.keyPressed = false
        radio.band = id
        radio.channel = Math.min(Math.max(radio.channel, first), last)
      }),
    view: () => {
      const now = plant.observe()
      const { radio, leads } = plant.state()
      return {
        positions: { ...radio.positions },
        key: radio.keyPressed,
        display: now.working ? String(radio.channel) : '',
        onAir: now.transmitting,
        channel: radio.channel,
        mode: radio.mode,
        band: radio.band,
        prod: leads.prod,
        common: leads.common,
        microphone: radio.microphone,
        load: radio.load,
        cover: radio.cover,
        hand: radio.handNear,
      }
    },
  }
}

/** Where the output core is: with the tool, or, loose, dragged behind it with slop and now and then a step of its own. */
function coreBehind(core: number, tool: number, slopTurns: number, rng: Rng): number {
  if (slopTurns === 0) return tool
  const dragged = Math.min(Math.max(core, tool - slopTurns), tool + slopTurns)
  return dragged === core ? core : dragged + (rng() < STEP_SHARE ? (2 * rng() - 1) * slopTurns : 0)
}

const STEP_SHARE = 0.1
