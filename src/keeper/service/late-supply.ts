import type { SupplyState } from '../../schema/messages/keeper-message.ts'
import { deadWish } from './dead-wish.ts'
import { noSupply } from './no-supply.ts'
import type { Supply, Wish } from './supply.ts'

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
  /** A wish that was made before the supply was there, and may have ended before it too. */
  let newest: { live: boolean } = { live: false }
  const endWishes = () => {
    newest.live = false
  }
  const wish = (): Wish => {
    endWishes()
    if (there) return there.wish()
    const own = { live: true }
    newest = own
    let real: Wish | null = null
    const reached = async (): Promise<Wish> => {
      const supply = await coming
      if (!own.live) throw deadWish(benchName)
      real ??= supply.wish()
      return real
    }
    return {
      get live() {
        return own.live && (real?.live ?? true)
      },
      limits: async (limits) => (await reached()).limits(limits),
      set: async (volts, amps) => (await reached()).set(volts, amps),
      on: async () => (await reached()).on(),
    }
  }
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
    wish,
    normal: async (why) => {
      endWishes()
      return (there ?? (await coming)).normal(why)
    },
    safe: async (why) => {
      endWishes()
      return (there ?? (await coming)).safe(why)
    },
    onState: listen((supply) => supply.onState.bind(supply)),
    onActed: listen((supply) => supply.onActed.bind(supply)),
    onGone: listen((supply) => supply.onGone.bind(supply)),
    close: async () => (await coming.catch(() => null))?.close(),
  }
}
