import type { SettleState, WindowFigures } from './settling.ts'
import type { Timed } from './spikes.ts'

/** What the readings since the last change came to, whatever version of settling says so: what a captured value is made of. */
export interface Rested extends Pick<SettleState, 'verdict' | 'value' | 'count' | 'mean' | 'spread' | 'windowS'> {
  /** The readings that count, newest last. */
  readonly samples: readonly Timed[]
  /** Of a check too brief to settle; null for too few. */
  readonly brief: () => WindowFigures | null
  /** The same of every reading, spikes and all: where the largest seen is wanted, none is one. */
  readonly all: () => WindowFigures | null
  /** When each spike came that was set aside and counts for nothing, s; null where the version marks none. */
  readonly aside: readonly number[] | null
}
