import { type Clock, sleep } from '../../src/system/clock.ts'

/** An instrument's end of a link, ready for a client. */
export interface LineServer {
  /** As a bench file has it: tcp://127.0.0.1:PORT, serial:PATH?baud=9600, memory:NAME. */
  readonly address: string
  /** The cable is out from now on: the client is cut off and a new one finds nobody. */
  unplug(): Promise<void>
  /** The cable is back, at the same address. */
  plug(): Promise<void>
  /** Idempotent. */
  close(): Promise<void>
}

/** The same server with its cable pulled and put back one after the other, however fast one asks. After closing nothing is plugged in again. */
export function orderly(server: LineServer): LineServer {
  let tail: Promise<void> = Promise.resolve()
  let closed = false
  const next = (act: () => Promise<void>): Promise<void> => {
    const turn = tail.then(act)
    // A failed turn is told to whoever asked for it; the next one goes on.
    tail = turn.catch(() => {})
    return turn
  }
  return {
    address: server.address,
    unplug: () => next(server.unplug),
    plug: () => next(async () => (closed ? undefined : server.plug())),
    close: () => {
      closed = true
      return next(server.close)
    },
  }
}

/** Takes the cable out for `ms` of the clock. */
export async function pullFor(server: LineServer, ms: number, clock: Clock, signal: AbortSignal): Promise<void> {
  await server.unplug()
  await sleep(clock, ms, signal)
  await server.plug()
}
