import type { Clock } from './clock.ts'
import type { Log } from './log.ts'
import type { Rng } from './rng.ts'

/** Built once per process and passed on; a function takes only the part it uses. */
export interface Deps {
  readonly clock: Clock
  readonly rng: Rng
  readonly log: Log
}
