import { emptyFrame } from '../core/guidance/watch.ts'
import type { LiveFrame } from '../schema/messages/live-frame.ts'
import type { Clock } from '../system/clock.ts'
import type { FrameFacts } from './broken-job.ts'

/** States in which only a countdown moves: pictures of them `CALM_MS` apart are enough. A change of state is shown at once. */
const CALM: ReadonlySet<string> = new Set(['read step', 'action', 'settings', 'rest', 'paused', 'stopped', 'finished'])
const CALM_MS = 500

/** Who is shown what: makes the frames, numbers them, gives them to whoever listens. */
export class Publisher {
  readonly #clock: Clock
  readonly #bench: LiveFrame['bench']
  readonly #picture: (facts: FrameFacts) => LiveFrame
  readonly #listeners = new Set<(frame: LiveFrame) => void>()
  #seq = 0
  #newest: LiveFrame
  #dirty = true
  #publishedMs: number

  /** `picture` draws what is at hand now; it is asked once for each frame. */
  constructor(clock: Clock, bench: LiveFrame['bench'], picture: (facts: FrameFacts) => LiveFrame) {
    this.#clock = clock
    this.#bench = bench
    this.#picture = picture
    this.#newest = emptyFrame({ bench, seq: 0 }, clock.nowMs())
    this.#publishedMs = clock.nowMs()
  }

  latest(): LiveFrame {
    return this.#newest
  }

  onFrame(listener: (frame: LiveFrame) => void): () => void {
    this.#listeners.add(listener)
    return () => this.#listeners.delete(listener)
  }

  /** Something happened that the newest frame does not show yet. */
  touch(): void {
    this.#dirty = true
  }

  /** A frame now. */
  publish(): void {
    this.#seq += 1
    this.#publishedMs = this.#clock.nowMs()
    this.#newest = this.#picture({ bench: this.#bench, seq: this.#seq })
    this.#dirty = false
    for (const listener of this.#listeners) listener(this.#newest)
  }

  /** At each tick: a frame where something happened. `state` is that of a job in which nothing but time went on since the tick before; null else. */
  tick(state: string | null): void {
    const calm = state !== null && CALM.has(state)
    if (this.#dirty && (!calm || this.#clock.nowMs() - this.#publishedMs >= CALM_MS)) this.publish()
  }
}
