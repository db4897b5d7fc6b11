import type { Clock } from './clock.ts'

interface Sleeper {
  readonly dueMs: number
  readonly order: number
  readonly wake: () => void
}

/** A clock that stands still until everybody sleeps on it, then jumps to the next one due. For `job --fast` and for tests. */
export interface VirtualClock extends Clock {
  /** Lets time run until `done` settles; resolves or rejects as `done` does. Throws TypeError when nobody sleeps and `done` is not settled. */
  runUntil<T>(done: Promise<T>): Promise<T>
  /** Lets `ms` of time pass, waking everyone due on the way, in order. */
  advance(ms: number): Promise<void>
  /** Time stands still until `work` has settled: for people and processes that live in real time. */
  standFor(work: Promise<unknown>): void
}

/** `startedAt` is the wall time (ms since 1970) at clock reading 0. */
export function virtualClock(startedAt = Date.UTC(2026, 0, 5, 8, 0, 0)): VirtualClock {
  let now = 0
  let wall = { atMs: Number.NaN, text: '' }
  let orders = 0
  const heap: Sleeper[] = []

  /** What time stands still for. */
  const standing = new Set<Promise<unknown>>()
  const settled = async () => {
    await quiet()
    while (standing.size > 0) {
      await Promise.all(standing)
      await quiet()
    }
  }

  const wakeNext = () => {
    const next = popLeast(heap, before)
    if (!next) return false
    now = Math.max(now, next.dueMs)
    next.wake()
    return true
  }

  return {
    nowMs: () => now,
    wallTime: () => {
      // asked for with every event, and many happen at one moment
      if (wall.atMs !== now) wall = { atMs: now, text: new Date(startedAt + now).toISOString() }
      return wall.text
    },
    sleepUntil: (dueMs, signal) => sleepIn(heap, { dueMs, order: () => orders++ }, signal),
    runUntil: async (done) => {
      let over = false
      const mark = () => {
        over = true
      }
      done.then(mark, mark)
      for (;;) {
        await settled()
        if (over) return done
        if (!wakeNext()) {
          await settled()
          if (over) return done
          if (heap.length === 0) throw new TypeError('nobody sleeps on the clock and nothing is finished')
        }
      }
    },
    advance: async (ms) => {
      const endMs = now + ms
      for (;;) {
        await settled()
        const next = heap[0]
        if (!next || next.dueMs > endMs) break
        wakeNext()
      }
      now = endMs
    },
    standFor: (work) => {
      const over = work.then(
        () => {},
        () => {}, // whoever did the work is told
      )
      standing.add(over)
      void over.then(() => standing.delete(over))
    },
  }
}

function before(a: Sleeper, b: Sleeper): boolean {
  return a.dueMs < b.dueMs || (a.dueMs === b.dueMs && a.order < b.order)
}

/** Puts a sleeper into the heap until it is woken or `signal` is aborted. */
function sleepIn(
  heap: Sleeper[],
  { dueMs, order }: { readonly dueMs: number; readonly order: () => number },
  signal: AbortSignal,
): Promise<void> {
  return new Promise<void>((resolve, reject) => {
    if (signal.aborted) return reject(signal.reason)
    let live = true
    const onAbort = () => {
      live = false
      dropFrom(heap, sleeper, before)
      reject(signal.reason)
    }
    const sleeper: Sleeper = {
      dueMs,
      order: order(),
      wake: () => {
        if (!live) return
        signal.removeEventListener('abort', onAbort)
        resolve()
      },
    }
    signal.addEventListener('abort', onAbort, { once: true })
    push(heap, sleeper, before)
  })
}

/** Every promise, tick and stream callback that can run without time passing has run. */
function quiet(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve))
}

type Before = (a: Sleeper, b: Sleeper) => boolean

function push(heap: Sleeper[], sleeper: Sleeper, before: Before): void {
  heap.push(sleeper)
  rise(heap, heap.length - 1, before)
}

function rise(heap: Sleeper[], from: number, before: Before): void {
  let at = from
  while (at > 0) {
    const parent = (at - 1) >> 1
    if (!swapIfBefore(heap, at, parent, before)) return
    at = parent
  }
}

function sink(heap: Sleeper[], from: number, before: Before): void {
  let at = from
  for (;;) {
    const left = 2 * at + 1
    const right = left + 1
    const leftSleeper = heap[left]
    if (!leftSleeper) return
    const rightSleeper = heap[right]
    const child = rightSleeper && before(rightSleeper, leftSleeper) ? right : left
    if (!swapIfBefore(heap, child, at, before)) return
    at = child
  }
}

function swapIfBefore(heap: Sleeper[], child: number, parent: number, before: Before): boolean {
  const a = heap[child]
  const b = heap[parent]
  if (!a || !b || !before(a, b)) return false
  heap[child] = b
  heap[parent] = a
  return true
}

function popLeast(heap: Sleeper[], before: Before): Sleeper | undefined {
  const least = heap[0]
  const last = heap.pop()
  if (!least || !last) return undefined
  if (last !== least) {
    heap[0] = last
    sink(heap, 0, before)
  }
  return least
}

function dropFrom(heap: Sleeper[], sleeper: Sleeper, before: Before): void {
  const at = heap.indexOf(sleeper)
  if (at < 0) return
  const last = heap.pop()
  if (!last || last === sleeper) return
  heap[at] = last
  rise(heap, at, before)
  sink(heap, at, before)
}
