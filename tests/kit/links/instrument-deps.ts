import { silentLog } from '../../../src/system/log.ts'
import { seededRng } from '../../../src/system/rng.ts'
import { type VirtualClock, virtualClock } from '../../../src/system/virtual-clock.ts'
import type { MemoryNet } from '../../../src/transport/port/byte-port.ts'
import { type ScriptedInstrument, scriptedNet } from './scripted-instrument.ts'

/** A clock that stands still until everybody sleeps, a net of scripted instruments on it, chance with seed 1, and silence in the log. */
export function instrumentDeps() {
  const clock = virtualClock()
  const { net, add } = scriptedNet(clock)
  return { clock, add, deps: { clock, rng: seededRng(1), log: silentLog, memory: net } }
}

/** A signal that nobody aborts. */
export const never = (): AbortSignal => new AbortController().signal

/** Lets time run until `done` is fulfilled or rejected; gives what it was rejected with. */
export async function rejectionOf(clock: VirtualClock, done: Promise<unknown>): Promise<unknown> {
  return clock.runUntil(
    done.then(
      () => {
        throw new TypeError('it was not rejected')
      },
      (reason: unknown) => reason,
    ),
  )
}

export type { MemoryNet, ScriptedInstrument, VirtualClock }
