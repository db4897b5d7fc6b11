import { BenchError, wordsOf } from '../../fault/bench-error.ts'
import type { SupplyPort, SupplyReadBack } from '../../instrument/supply-port.ts'
import type { Clock } from '../../system/clock.ts'
import { deadline, hardlyPast } from '../../system/deadline.ts'
import type { Log } from '../../system/log.ts'
import type { Wait } from '../../transport/link.ts'
import { said } from '../../words/said/said.ts'
import type { Act } from '../rules/keeper-state.ts'

/** The one place that holds the supply's port, and gets a new one when the old one is no good. */
export interface SupplySeat {
  /** Performs one act; a look gives what it read. Ends when `wait.signal` aborts, whatever the port does. */
  perform(act: Act, wait: Wait): Promise<SupplyReadBack | null>
  close(): Promise<void>
}

/** After these the connection itself is no good any more. */
const SPOILT: readonly string[] = ['TRANSPORT_LINK_LOST', 'TRANSPORT_CLOSED', 'TRANSPORT_SEND_STALLED']

/** A port that was told to stop has this long to give up by itself before it is left behind, ms. */
const GIVE_UP_MS = 20
/** A supply that was not understood for this long gets a new connection; a line with room for one is kept longer, ms. */
const BESIDE_MS = 1000
const ALONE_MS = 5000
/** How long an opening may take, whatever the acts that wait for it may, ms. */
const OPENING_MS = 5000
/** A connection whose opening failed is kept for the sake of its first messages; no other is opened beside it for this long, ms. */
const KEPT_MS = 2200
/** From an opening that failed to the next, ms: an instrument with room for one client is not hammered. */
const AGAIN_MS: readonly number[] = [0, 100, 200, 400, 800, 1000]
/** An old connection is kept this long after its last "off": that may still be under way, ms. */
const PARKED_MS = 5000

/** Seats an open port. Without `reopen` the same port is used for ever. Times are multiplied by `patience`. */
export function openSeat(
  first: SupplyPort,
  reopen: ((wait: Wait) => Promise<SupplyPort>) | null,
  deps: { readonly clock: Clock; readonly log: Log; readonly rules: { readonly patience: number } },
): SupplySeat {
  const { identity, who } = first
  const { clock, log } = deps
  const { patience } = deps.rules
  let port: SupplyPort | null = first
  let opening: { readonly fresh: Promise<void>; readonly stop: AbortController } | null = null
  let closing: Promise<void> = Promise.resolve()
  let troubledMs: number | null = null
  let openings = 0
  let failedMs = Number.NEGATIVE_INFINITY
  /** Why there is no link; what fails until there is one again fails for this. */
  let lost: BenchError | null = null
  let offMs = Number.NEGATIVE_INFINITY
  const over = new AbortController()

  const shut = (old: SupplyPort) => old.close().catch((error) => log.warn({ who }, wordsOf(error)))
  const drop = () => {
    const old = port
    port = null
    if (old) closing = shut(old)
  }
  /** Replaced, but what was written on it last may be the "off" that arrives. */
  const park = async (old: SupplyPort) => {
    await clock.sleepUntil(offMs + PARKED_MS * patience, over.signal).catch(() => {}) // the end does not wait
    await shut(old)
  }

  const seatNew = async (how: NonNullable<typeof reopen>, stop: AbortController) => {
    let inTime = () => {}
    try {
      await closing
      const pauseMs = AGAIN_MS[Math.min(openings, AGAIN_MS.length - 1)] ?? 0
      await clock.sleepUntil(failedMs + pauseMs * patience, stop.signal)
      inTime = deadline(clock, OPENING_MS * patience, () =>
        stop.abort(new BenchError('TRANSPORT_OPEN_FAILED', who, said('keeper.not-in-step'))),
      )
      const coming = how({ ms: OPENING_MS * patience, signal: stop.signal })
      const leftBehind = () => void coming.then(shut, () => {}) // opened too late
      const giveUpMs = () => (stop.signal.reason === SETTLED ? GIVE_UP_MS : KEPT_MS * patience)
      const fresh = await hardlyPast(coming, stop.signal, clock, giveUpMs, leftBehind)
      if (stop.signal.aborted) return void shut(fresh)
      if (fresh.identity !== identity) {
        await shut(fresh)
        throw new BenchError(
          'DRIVER_WRONG_INSTRUMENT',
          who,
          said('keeper.other-answers', { now: fresh.identity, before: identity }),
        )
      }
      if (port) void park(port)
      port = fresh
      troubledMs = null
      lost = null
      openings = 0
    } catch (error) {
      openings += 1
      failedMs = clock.nowMs()
      throw error
    } finally {
      inTime()
      if (opening?.stop === stop) opening = null
    }
  }

  const begin = () => {
    if (opening) return opening
    if (!reopen) throw new BenchError('TRANSPORT_CLOSED', who, said('keeper.link-closed'))
    const stop = new AbortController()
    const fresh = seatNew(reopen, stop)
    fresh.catch((error) => log.warn({ who, code: codeOf(error) }, wordsOf(error))) // and told to the acts that wait for it
    opening = { fresh, stop }
    return opening
  }

  const seated = async (wait: Wait): Promise<SupplyPort> => {
    if (port) return port
    try {
      await hardlyPast(begin().fresh, wait.signal, clock, () => GIVE_UP_MS)
    } catch (error) {
      throw lost !== null && (wait.signal.aborted || codeOf(error).startsWith('TRANSPORT_')) ? lost : error
    }
    return port ?? seated(wait)
  }

  const failed = (act: Act, hung: boolean, error: unknown, beganMs: number) => {
    if (!reopen) return
    if (error instanceof BenchError && SPOILT.includes(error.code)) lost ??= error
    if (hung || SPOILT.includes(codeOf(error)) || (act.do === 'off' && !codeOf(error).startsWith('INSTRUMENT_'))) {
      drop()
      return void begin()
    }
    if (codeOf(error).startsWith('INSTRUMENT_')) return // an answer too
    troubledMs ??= beganMs
    const forMs = clock.nowMs() - troubledMs
    if (forMs < (first.alone ? ALONE_MS : BESIDE_MS) * patience) return
    if (first.alone) drop()
    void begin()
  }

  const perform = async (act: Act, wait: Wait): Promise<SupplyReadBack | null> => {
    const at = await seated(wait)
    const beganMs = clock.nowMs()
    if (act.do === 'off') offMs = beganMs
    let hung = false
    try {
      const back = await hardlyPast(
        send(at, act, wait),
        wait.signal,
        clock,
        () => GIVE_UP_MS,
        () => {
          hung = true
        },
      )
      if (act.do !== 'off') {
        troubledMs = null
        opening?.stop.abort(SETTLED) // the old connection is good again
      }
      return back
    } catch (error) {
      if (at === port) failed(act, hung, error, beganMs)
      throw error
    }
  }

  const close = async () => {
    over.abort(SETTLED)
    opening?.stop.abort(SETTLED)
    drop()
    await closing
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

const SETTLED = new Error('settled')
