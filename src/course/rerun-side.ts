import { isDeepStrictEqual } from 'node:util'
import type { CameLine, CourseHead, DidLine } from '../schema/course/course-line.ts'
import { readNumber } from '../schema/course/course-value.ts'
import type { LiveFrame } from '../schema/messages/live-frame.ts'
import { TAKEN } from '../transport/port/byte-port.ts'
import { type Said, said, type Words } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { heldTime } from './held-time.ts'
import { sha256 } from './parts.ts'
import { frameLine } from './session.ts'
import { NOTHING, type Side, thrownFrom } from './side.ts'

/** Where the program did something else than was written down, ms of the bench clock. */
export interface Difference {
  readonly atMs: number
  /** null: nothing more was done then. */
  readonly then: DidLine | null
  /** null: it is not done now. */
  readonly now: DidLine | null
}

/** What is to come finds nobody who waits for it: from here on the program goes another way than the course. */
export class OtherWay extends Error {
  readonly words: Words

  constructor(words: Words) {
    super(sentence(words))
    this.words = words
  }
}

/** The side that gives back what was written down. */
export interface RerunSide extends Side {
  /** What was done at the next coming. */
  expect(did: readonly DidLine[]): void
  /** Something comes. Throws OtherWay; SCHEMA_REJECTED where it is of another shape than what is waited for. */
  come(came: Exclude<CameLine, { kind: 'request' | 'page' }>): void
  stand(came: CameLine): void
  frame(frame: LiveFrame): void
  /** What was done then, and is not done now, is a difference. */
  settled(): void
  differences(): readonly Difference[]
}

interface Waiter {
  readonly done: (value: unknown) => void
  readonly failed: (why: Extract<CameLine, { kind: 'failed' }>['why']) => void
}

/** A sleeper of the real clock may wake by so much too early, ms. */
const EARLY_MS = 0.02

export function rerunSide(head: CourseHead): RerunSide {
  const held = heldTime({ atMs: head.atMs, wallMs: head.wallMs, bootMs: head.bootMs ?? 0 })
  const waiters = new Map<number, Waiter>()
  const ears = new Map<number, (news: unknown) => void>()
  const sleepers = new Map<number, { readonly dueMs: number; readonly wake: () => void }>()
  const seen = new Map<string, unknown>()
  const differences: Difference[] = []
  let due: readonly DidLine[] = []
  let at = 0
  let numbers = 0
  let slept = 0

  /** What was seen by somebody outside of bench and session stands between what was done. */
  const passSeen = () => {
    for (let line = due[at]; line?.kind === 'see' && line.what !== CHANCE; line = due[at]) {
      seen.set(line.what, line.value)
      at += 1
    }
  }
  const differ = (then: DidLine | null, now: DidLine | null) => differences.push({ atMs: held.nowMs(), then, now })

  const did = (line: DidLine) => {
    passSeen()
    const now: DidLine = JSON.parse(JSON.stringify(line))
    const found = due.findIndex((then, index) => index >= at && isDeepStrictEqual(then, now))
    if (found >= 0) {
      for (const then of due.slice(at, found)) differ(then, null)
      at = found + 1
      return
    }
    const then = due[at]
    if (then?.kind === line.kind) at += 1
    differ(then?.kind === line.kind ? then : null, now)
  }

  const number = () => {
    numbers += 1
    return numbers
  }

  const settle: Side['settle'] = (id, form, _work, calledOff) =>
    new Promise((resolve, reject) => {
      waiters.set(id, {
        done: (value) => resolve(form.read(value)),
        failed: (why) => reject(thrownFrom(why, calledOff?.signal)),
      })
    })

  const waiterFor = (id: number, unasked: Said): Waiter => {
    const waiter = waiters.get(id)
    if (!waiter) throw new OtherWay(unasked)
    waiters.delete(id)
    return waiter
  }

  return {
    clock: {
      nowMs: held.nowMs,
      wallTime: held.wallTime,
      ...(head.bootMs === null ? {} : { bootMs: held.bootMs }),
      sleepUntil: (dueMs, signal) => {
        slept += 1
        const id = slept
        return new Promise<void>((resolve, reject) => {
          if (signal.aborted) return reject(signal.reason)
          const onAbort = () => {
            sleepers.delete(id)
            reject(signal.reason)
          }
          const wake = () => {
            signal.removeEventListener('abort', onAbort)
            resolve()
          }
          signal.addEventListener('abort', onAbort, { once: true })
          sleepers.set(id, { dueMs, wake })
        })
      },
    },
    rng: () => {
      const line = due[at]
      if (line?.kind !== 'see' || line.what !== CHANCE) {
        differ(null, { kind: 'see', what: CHANCE, value: EVEN })
        return EVEN
      }
      at += 1
      return readNumber(line.value)
    },
    number,
    did,
    settle,
    listen: (what, form, _begin, to) => {
      const id = number()
      did({ kind: 'listen', id, what })
      ears.set(id, (news) => to(form.read(news)))
      return () => void ears.delete(id)
    },
    see: (what, form) => {
      passSeen()
      if (!seen.has(what)) throw new OtherWay(said('course.looked-at-anew', { what }))
      return form.read(seen.get(what))
    },
    send: (port, text) => {
      passSeen()
      const then = due[at]
      const taken = then?.kind !== 'send' || then.id === undefined
      const id = taken ? undefined : number()
      did(id === undefined ? { kind: 'send', port, text } : { kind: 'send', port, text, id })
      return id === undefined ? TAKEN : settle(id, NOTHING, () => TAKEN)
    },
    expect: (next) => {
      due = next
      at = 0
    },
    stand: ({ at: atMs, wall, boot }) => {
      held.stand(atMs, { ...(wall === undefined ? {} : { wall }), ...(boot === undefined ? {} : { boot }) })
    },
    come: (came) => {
      switch (came.kind) {
        case 'woke': {
          const sleeper = sleepers.get(came.id)
          if (!sleeper) throw new OtherWay(said('course.sleeper-awake', { id: came.id }))
          if (sleeper.dueMs > came.at + EARLY_MS) throw new OtherWay(said('course.sleeper-later', { id: came.id }))
          sleepers.delete(came.id)
          return sleeper.wake()
        }
        case 'done':
          return waiterFor(came.id, said('course.answer-without-question', { id: came.id })).done(came.value)
        case 'failed':
          return waiterFor(came.id, said('course.failure-without-question', { id: came.id })).failed(came.why)
        case 'heard': {
          const ear = ears.get(came.id)
          if (!ear) throw new OtherWay(said('course.news-without-listener', { id: came.id }))
          return ear(came.value)
        }
        default:
          came satisfies never
      }
    },
    frame: (frame) => did(frameLine(frame, sha256)),
    settled: () => {
      passSeen()
      for (const then of due.slice(at)) if (then.kind !== 'see') differ(then, null)
    },
    differences: () => differences,
  }
}

const CHANCE = 'chance'
const EVEN = 0.5
