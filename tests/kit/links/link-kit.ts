import { setMaxListeners } from 'node:events'
import { silentLog } from '../../../src/system/log.ts'
import { type VirtualClock, virtualClock } from '../../../src/system/virtual-clock.ts'
import type { Link, LinkManners, Owed, Wait } from '../../../src/transport/link.ts'
import { openLink } from '../../../src/transport/open-link.ts'
import { type MemoryInstrument, type MemoryManners, memoryInstrument } from './memory-pair.ts'

/** A signal that nobody aborts. */
export const quietSignal = new AbortController().signal
setMaxListeners(0, quietSignal) // one for all tests of a file: Node warns at 11 listeners on a signal

/** A second for each answer, never called off. */
export const WAIT: Wait = { ms: 1000, signal: quietSignal }

/** Manners of a plain network instrument. */
export const PLAIN: LinkManners = {
  sendEnd: '\n',
  replyEnd: '\n',
  gapMs: 0,
  settleMs: 0,
  quietMs: 50,
  longestMessage: 120,
  resync: 'sentinel',
  identityAsk: '*IDN?',
  clear: '*CLS',
}

/** A clock, an instrument in memory on it, and links to it. */
export interface MemoryBench {
  readonly clock: VirtualClock
  readonly instrument: MemoryInstrument
  open(manners?: Partial<LinkManners>, wait?: Wait, owed?: Owed): Promise<Link>
  /** An opened link; what was heard while opening is forgotten. */
  opened(manners?: Partial<LinkManners>): Promise<Link>
}

/** An instrument in memory on a clock of its own, and links to it. */
export function memoryBench(behaves: MemoryManners = {}): MemoryBench {
  const clock = virtualClock()
  const instrument = memoryInstrument(clock, behaves)
  const open = (manners: Partial<LinkManners> = {}, wait: Wait = WAIT, owed?: Owed) =>
    openLink({
      who: 'volts (multimeter at memory:volts)',
      address: 'memory:volts',
      manners: { ...PLAIN, ...manners },
      deps: { clock, log: silentLog, memory: instrument.net },
      wait,
      ...(owed ? { owed } : {}),
    })
  return {
    clock,
    instrument,
    open,
    opened: async (manners = {}) => {
      const link = await clock.runUntil(open(manners))
      instrument.heard.length = 0
      return link
    },
  }
}
