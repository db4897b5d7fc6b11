import type { FromKeeper } from '../../src/schema/keeper-message.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { VirtualClock } from '../../src/system/virtual-clock.ts'
import type { Host } from './host.ts'
import type { World } from './world.ts'

/** What a standby keeper is plugged in with. It opens the supply with `supplyFor(host, world)` of keeper-host.ts. */
export interface StandbyNeeds {
  /** Its own process, which the run freezes and kills. */
  readonly host: Host
  /** The holder: `kill()` ends it, a frozen one too; `onDeath` tells that it is gone. */
  readonly keeper: Host
  readonly service: Host
  readonly world: World
  readonly clock: VirtualClock
  readonly rng: Rng
  readonly said: (message: FromKeeper) => void
}

/** A standby at work. */
export interface StandbySeat {
  /** Resolves when it has ended, or its process was killed. */
  readonly ended: Promise<void>
}

/** Puts the standby of a run to work; null: there is none, and nothing is made to happen to it. */
export const STANDBY: ((needs: StandbyNeeds) => StandbySeat) | null = null
