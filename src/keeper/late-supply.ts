import type { SupplyState } from '../schema/keeper-message.ts'
import { noSupply } from './no-supply.ts'
import type { Supply } from './supply.ts'

/**
 * A supply whose keeper is still on its way, so that the meters can be opened meanwhile: orders and listeners go to the
 * real one as soon as it is there, and until then its state is unknown. `simulated` is what the bench file says; who opens
 * both holds it against the real one. Orders reject as `coming` does.
 */
export function lateSupply(coming: Promise<Supply>, benchName: string, simulated: boolean): Supply {
  let there: Supply | null = null
  coming.then(
    (supply) => {
      there = supply
    },
    () => {}, // whoever opens it is told
  )
  const none = noSupply(benchName, simulated)
  const listen = <T>(on: (supply: Supply) => (listener: (news: T) => void) => () => void) => {
    return (listener: (news: T) => void) => {
      let off: (() => void) | null = null
      let wanted = true
      coming.then(
        (supply) => {
          if (wanted) off = on(supply)(listener)
        },
        () => {},
      )
      return () => {
        wanted = false
        off?.()
      }
    }
  }
  return {
    get identity() {
      return there?.identity ?? ''
    },
    get simulated() {
      return there?.simulated ?? simulated
    },
    latest: (): SupplyState => (there ?? none).latest(),
    limits: async (limits) => (await coming).limits(limits),
    set: async (volts, amps) => (await coming).set(volts, amps),
    on: async () => (await coming).on(),
    normal: async (why) => (await coming).normal(why),
    safe: async (why) => (await coming).safe(why),
    onState: listen((supply) => supply.onState.bind(supply)),
    onActed: listen((supply) => supply.onActed.bind(supply)),
    onGone: listen((supply) => supply.onGone.bind(supply)),
    close: async () => (await coming.catch(() => null))?.close(),
  }
}
