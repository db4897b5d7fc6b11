import { setMaxListeners } from 'node:events'
import type { Clock } from '../../src/system/clock.ts'
import type { Rng } from '../../src/system/rng.ts'

/** Never aborted: for sleeps that end by themselves. */
export const NEVER = new AbortController().signal
setMaxListeners(0, NEVER) // one for everybody: Node warns at 11 listeners on a signal

/** How work comes into a process; what comes one way keeps its order. */
export type Door = 'timer' | 'pipe' | 'page' | 'wire' | 'disk'

interface Waiting {
  readonly door: Door
  readonly work: () => void
}

/**
 * A process, as far as it can stand still or die: nothing comes into it but by `run` and by its clock. Frozen, all of that waits;
 * thawed, it comes in piece by piece, the doors in an order by chance; killed, nothing of it ever goes on.
 */
export class Host {
  readonly name: string
  /** The clock of everything inside this process. */
  readonly clock: Clock
  /** When it was last frozen, thawed or killed, bench ms. */
  frozenMs = Number.NEGATIVE_INFINITY
  thawedMs = Number.NEGATIVE_INFINITY
  diedMs = Number.POSITIVE_INFINITY
  /** Sleeps under way inside it. */
  asleep = 0
  readonly #base: Clock
  readonly #rng: Rng
  readonly #mourners: (() => void)[] = []
  #waiting: Waiting[] = []
  #state: 'running' | 'frozen' | 'thawing' | 'dead' = 'running'

  constructor(name: string, base: Clock, rng: Rng) {
    this.name = name
    this.#base = base
    this.#rng = rng
    this.clock = {
      nowMs: base.nowMs,
      wallTime: base.wallTime,
      sleepUntil: (dueMs, signal) => this.#sleep(dueMs, signal),
    }
  }

  get alive(): boolean {
    return this.#state !== 'dead'
  }

  get frozen(): boolean {
    return this.#state === 'frozen'
  }

  /** Work from outside: done now, when the process goes on, or never. */
  run(door: Door, work: () => void): void {
    if (this.#state === 'running') work()
    else if (this.#state !== 'dead') this.#waiting.push({ door, work })
  }

  freeze(): void {
    if (this.#state === 'dead' || this.#state === 'frozen') return
    this.#state = 'frozen'
    this.frozenMs = this.#base.nowMs()
  }

  thaw(): void {
    if (this.#state !== 'frozen') return
    this.#state = 'thawing'
    this.thawedMs = this.#base.nowMs()
    void this.#catchUp()
  }

  kill(): void {
    if (this.#state === 'dead') return
    this.#state = 'dead'
    this.diedMs = this.#base.nowMs()
    this.#waiting = []
    for (const mourn of this.#mourners.splice(0)) mourn()
  }

  /** The system's part of its end: pipes and connections close. Said at once where it is dead already. */
  onDeath(mourn: () => void): void {
    if (this.alive) this.#mourners.push(mourn)
    else mourn()
  }

  async #catchUp(): Promise<void> {
    while (this.#state === 'thawing') {
      const doors = [...new Set(this.#waiting.map(({ door }) => door))]
      const door = doors[Math.floor(this.#rng() * doors.length)]
      const at = this.#waiting.findIndex((one) => one.door === door)
      const [next] = at < 0 ? [] : this.#waiting.splice(at, 1)
      if (!next) {
        this.#state = 'running'
        return
      }
      next.work()
      await this.#base.sleepUntil(this.#base.nowMs(), NEVER) // what follows from it at once comes before the next
    }
  }

  #sleep(dueMs: number, signal: AbortSignal): Promise<void> {
    if (!this.alive) return new Promise(() => {})
    this.asleep += 1
    return new Promise((resolve, reject) => {
      this.#base.sleepUntil(dueMs, signal).then(
        () =>
          this.run('timer', () => {
            this.asleep -= 1
            if (signal.aborted) reject(signal.reason)
            else resolve()
          }),
        (reason: unknown) => {
          this.asleep -= 1
          reject(reason)
        },
      )
    })
  }
}

/** One way for messages: each arrives `delayMs()` after it was sent, never before the one sent before it. */
export function lane(base: Clock, delayMs: () => number): (arrive: () => void) => void {
  let lastMs = Number.NEGATIVE_INFINITY
  let underWay = 0
  return (arrive) => {
    lastMs = Math.max(lastMs, base.nowMs() + delayMs())
    if (underWay === 0 && lastMs <= base.nowMs()) return queueMicrotask(arrive)
    underWay += 1
    void base.sleepUntil(lastMs, NEVER).then(() => {
      underWay -= 1
      arrive()
    })
  }
}
