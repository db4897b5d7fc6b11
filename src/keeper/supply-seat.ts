import { BenchError, wordsOf } from '../fault/bench-error.ts'
import type { SupplyPort, SupplyReadBack } from '../instrument/supply-port.ts'
import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import type { Wait } from '../transport/link.ts'
import type { Act } from './keeper-state.ts'

/** The one place that holds the supply's port, and gets a new one when the old one is no good. */
export interface SupplySeat {
  /** Performs one act; a look gives what it read. Ends when `wait.signal` aborts, whatever the port does. */
  perform(act: Act, wait: Wait): Promise<SupplyReadBack | null>
  close(): Promise<void>
}

/** After these the connection itself is no good any more. */
const SPOILT: readonly string[] = [
  'TRANSPORT_LINK_LOST',
  'TRANSPORT_CLOSED',
  'TRANSPORT_OUT_OF_STEP',
  'TRANSPORT_SEND_STALLED',
]

/** A port that was told to stop has this long to give up by itself before it is left behind, ms. */
const GIVE_UP_MS = 20

/** Seats an open port. Without `reopen` the same port is used for ever. */
export function openSeat(
  first: SupplyPort,
  reopen: ((wait: Wait) => Promise<SupplyPort>) | null,
  deps: { readonly clock: Clock; readonly log: Log },
): SupplySeat {
  const { identity, who } = first
  let port: SupplyPort | null = first
  let closing: Promise<void> = Promise.resolve()

  const close = () => {
    const old = port
    port = null
    if (old) closing = old.close().catch((error) => deps.log.warn({ who }, wordsOf(error)))
    return closing
  }

  const seated = async (wait: Wait): Promise<SupplyPort> => {
    if (port) return port
    if (!reopen) throw new BenchError('TRANSPORT_CLOSED', who, 'the link is closed')
    await untilAborted(closing, wait.signal, deps.clock)
    const opening = reopen(wait)
    const fresh = await untilAborted(opening, wait.signal, deps.clock, () => {
      opening.then((late) => late.close()).catch(() => {}) // opened too late: closed by whoever asked for it
    })
    if (fresh.identity !== identity) {
      await fresh.close()
      throw new BenchError('DRIVER_WRONG_INSTRUMENT', who, `"${fresh.identity}" answers where "${identity}" did`)
    }
    port = fresh
    return fresh
  }

  const perform = async (act: Act, wait: Wait): Promise<SupplyReadBack | null> => {
    const at = await seated(wait)
    let hung = false
    try {
      return await untilAborted(send(at, act, wait), wait.signal, deps.clock, () => {
        hung = true
      })
    } catch (error) {
      // A port that has neither answered nor given up, or an "off" that was not taken: a new connection is the better bet.
      if (reopen && (hung || act.do === 'off' || SPOILT.includes(codeOf(error)))) void close()
      throw error
    }
  }

  return { perform, close }
}

/** The fault's code; "" for anything else that was thrown. */
export function codeOf(error: unknown): string {
  return error instanceof BenchError ? error.code : ''
}

async function send(port: SupplyPort, act: Act, wait: Wait): Promise<SupplyReadBack | null> {
  switch (act.do) {
    case 'look':
      return port.readBack(wait)
    case 'off':
      // Not waiting for the link to be in step or for an answer: looks prove it.
      await (port.makeSafe ? port.makeSafe() : port.output(false, wait))
      return null
    case 'on':
      await port.output(true, wait)
      return null
    case 'volts':
      await port.setVolts(act.volts, wait)
      return null
    case 'amps':
      await port.setAmps(act.amps, wait)
      return null
    case 'trip':
      await port.setTrip(act.volts, wait)
      return null
    default:
      return act satisfies never
  }
}

/** Waits for `work`, but hardly past an abort: then it is left behind. */
function untilAborted<T>(work: Promise<T>, signal: AbortSignal, clock: Clock, leftBehind = () => {}): Promise<T> {
  return new Promise<T>((resolve, reject) => {
    let patience: AbortController | null = null
    const onAbort = () => {
      patience = new AbortController()
      clock.sleepUntil(clock.nowMs() + GIVE_UP_MS, patience.signal).then(
        () => {
          leftBehind()
          reject(signal.reason)
        },
        () => {}, // it has given up by itself
      )
    }
    const settle = () => {
      signal.removeEventListener('abort', onAbort)
      patience?.abort(SETTLED)
    }
    if (signal.aborted) onAbort()
    else signal.addEventListener('abort', onAbort)
    work.then(
      (value) => {
        settle()
        resolve(value)
      },
      (error: unknown) => {
        settle()
        reject(error)
      },
    )
  })
}

const SETTLED = new Error('settled')
