import type { Clock } from '../../system/clock.ts'
import type { Log } from '../../system/log.ts'
import type { BytePort, MemoryNet } from './byte-port.ts'

/** What opening a port takes; `who` is named in each fault. */
export interface PortNeeds {
  readonly who: string
  readonly clock: Clock
  readonly log: Log
  readonly signal: AbortSignal
  readonly memory?: MemoryNet | undefined
  /** Who stands between a link and its ports, where somebody does. */
  readonly through?: Through | undefined
}

/** Opens a port by `open`, or gives one of its own: for whoever writes down what goes over a link, and gives it back. */
export type Through = (
  needs: PortNeeds,
  address: string,
  open: (needs: PortNeeds) => Promise<BytePort>,
) => Promise<BytePort>

/** How long a connection may take to come about, ms. */
export const CONNECT_MS = 3000
