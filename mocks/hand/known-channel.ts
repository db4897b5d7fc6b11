import type { SimulatedSet } from '../plant/simulated-set.ts'

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
