import type { CameLine, DidLine } from '../schema/course/course-line.ts'
import type { Clock } from '../system/clock.ts'
import type { Rng } from '../system/rng.ts'
import { TAKEN } from '../transport/port/byte-port.ts'
import { openDoorway } from './doorway.ts'
import { catchUp, type HeldTime } from './held-time.ts'
import { failureOf, NOTHING, type Side } from './side.ts'

type Unplaced<One> = One extends unknown ? Omit<One, 'at' | 'wall' | 'boot'> : never

/** The side that writes down what comes as it comes. */
export interface LiveSide extends Side {
  /** Something that is asked of the session comes in at its turn. */
  come(line: Unplaced<CameLine>, act: () => void): void
  /** The opening counts as one coming; called right before it. */
  begin(): void
}

/** `keep` gets each line in its order; `settled` is called when a coming is over. */
export function liveSide(about: {
  readonly clock: Clock
  readonly rng: Rng
  readonly held: HeldTime
  readonly keep: (line: CameLine | DidLine) => void
  readonly settled: () => void
  readonly hold?: ((work: Promise<void>) => void) | undefined
}): LiveSide {
  const { clock, held, keep, settled, hold } = about
  const doorway = openDoorway({ settled, hold })
  const seen = new Map<string, unknown>()
  let numbers = 0
  let sleepers = 0

  const come = (line: Unplaced<CameLine>, act: () => void, stands?: () => boolean) => {
    doorway.come(() => {
      keep({ ...line, ...catchUp(held, clock) })
      act()
    }, stands)
  }

  const settle: Side['settle'] = (id, form, work, calledOff) =>
    new Promise((resolve, reject) => {
      work().then(
        (value) => come({ kind: 'done', id, value: form.write(value) }, () => resolve(value)),
        (error: unknown) => come({ kind: 'failed', id, why: failureOf(error, calledOff?.signal) }, () => reject(error)),
      )
    })

  const number = () => {
    numbers += 1
    return numbers
  }

  return {
    clock: {
      nowMs: held.nowMs,
      wallTime: held.wallTime,
      ...(clock.bootMs ? { bootMs: held.bootMs } : {}),
      sleepUntil: (dueMs, signal) => {
        sleepers += 1
        const id = sleepers
        return new Promise<void>((resolve, reject) => {
          if (signal.aborted) return reject(signal.reason)
          let asleep = true
          const onAbort = () => {
            asleep = false
            reject(signal.reason)
          }
          const wake = () => {
            signal.removeEventListener('abort', onAbort)
            resolve()
          }
          signal.addEventListener('abort', onAbort, { once: true })
          clock.sleepUntil(dueMs, signal).then(
            () => come({ kind: 'woke', id }, wake, () => asleep),
            () => {}, // told above
          )
        })
      },
    },
    rng: () => {
      const value = about.rng()
      keep({ kind: 'see', what: 'chance', value })
      return value
    },
    number,
    did: keep,
    settle,
    listen: (what, form, begin, to) => {
      const id = number()
      keep({ kind: 'listen', id, what })
      let heard = true
      const off = begin((news) =>
        come(
          { kind: 'heard', id, value: form.write(news) },
          () => to(news),
          () => heard,
        ),
      )
      return () => {
        heard = false
        off()
      }
    },
    see: (what, form, look) => {
      const value = look()
      if (!seen.has(what) || seen.get(what) !== value) keep({ kind: 'see', what, value: form.write(value) })
      seen.set(what, value)
      return value
    },
    send: (port, text, write) => {
      const taken = write()
      if (taken === TAKEN) {
        keep({ kind: 'send', port, text })
        return TAKEN
      }
      const id = number()
      keep({ kind: 'send', port, text, id })
      return settle(id, NOTHING, () => taken)
    },
    come: (line, act) => come(line, act),
    begin: doorway.busy,
  }
}
