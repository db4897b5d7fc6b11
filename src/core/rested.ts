import type { SettleState, WindowFigures } from './settling.ts'
import type { Sample } from './spikes.ts'

/** What the readings since the last change came to, whatever version of settling says so: what a captured value is made of. */
export interface Rested extends Pick<SettleState, 'verdict' | 'value' | 'count' | 'mean' | 'spread' | 'windowS'> {
  /** The readings that count, newest last. */
  readonly samples: readonly Sample[]
  /** Of a check too brief to settle; null for too few. */
  readonly brief: () => WindowFigures | null
  /** When each spike came that was set aside and counts for nothing, s; null where the version marks none. */
  readonly aside: readonly number[] | null
}
