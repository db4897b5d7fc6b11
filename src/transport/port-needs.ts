import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import type { MemoryNet } from './byte-port.ts'

/** What opening a port takes; `who` is named in each fault. */
export interface PortNeeds {
  readonly who: string
  readonly clock: Clock
  readonly log: Log
  readonly signal: AbortSignal
  readonly memory?: MemoryNet | undefined
}

/** How long a connection may take to come about, ms. */
export const CONNECT_MS = 3000
