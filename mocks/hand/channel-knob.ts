import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import type { SimulatedSet } from '../plant/simulated-set.ts'
import { type ErrandRunner, errandsOf } from './errands.ts'
import type { Grip } from './grip.ts'
import type { Seen } from './sight.ts'

/** A set whose channel knob the hand remembers; null after a change of band, and before the first turn of the knob. */
export function knowingChannel(set: SimulatedSet): { readonly set: SimulatedSet; known(): number | null } {
  let known: number | null = null
  return {
    known: () => known,
    set: {
      ...set,
      channel: (n) => {
        known = n
        set.channel(n)
      },
      powerOnBand: (id) => {
        known = null
        set.powerOnBand(id)
      },
      setting: (name, value) => {
        if (name === 'band') known = null
        set.setting(name, value)
      },
    },
  }
}

/** The channel knob in the hand: when it is on another channel than the step wants, and turning it to that, with the key up. */
export class ChannelKnob {
  readonly #set: SimulatedSet
  readonly #known: () => number | null
  readonly #grip: Grip
  readonly #errands: ErrandRunner
  /** The gauge said "wrong channel" and the right one is not set yet; kept while the key comes up. */
  #toSet: number | null = null

  /** `set` and `known` are those of one `knowingChannel`. */
  constructor(set: SimulatedSet, known: () => number | null, grip: Grip, errands: ErrandRunner) {
    this.#set = set
    this.#known = known
    this.#grip = grip
    this.#errands = errands
  }

  /** A channel that the gauge called wrong is still set, or the knob was left on another than this step, or its next stop, wants. */
  isWrong(frame: LiveFrame): boolean {
    return this.#toSet !== null || this.isElsewhere(frame)
  }

  /** The knob was left on another channel than this step, or its next stop, wants. */
  isElsewhere({ step }: LiveFrame): boolean {
    return step?.channelWanted != null && step.channelWanted !== this.#known()
  }

  /** Tool out, key up, then the knob is turned. */
  change({ frame, nowMs }: Seen): void {
    this.#grip.rest()
    const wanted = frame.step?.channelWanted ?? null
    if (frame.state === 'wrong channel') this.#toSet = wanted
    const turn = () => {
      if (wanted !== null) this.#set.channel(wanted)
      this.#toSet = null
    }
    if (wanted !== null) this.#errands.run((fromMs) => errandsOf([turn], fromMs, CHANNEL_MS), nowMs)
  }
}

/** From seeing that it is the wrong one to the knob on the right one. */
const CHANNEL_MS = 1500
