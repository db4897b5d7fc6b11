import { type TimeSeen, timeJumps, timeJumpWords } from '../core/time/time-jump.ts'
import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import type { Words } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'

/** Looks at the clocks of the computer, and says in words what happened to time since the look before. */
export function openTimeWatch(clock: Clock, log: Log): { look(): readonly Words[] } {
  const seen = (): TimeSeen => {
    const monoMs = clock.nowMs()
    return { monoMs, bootMs: clock.bootMs?.() ?? monoMs, wallMs: Date.parse(clock.wallTime()) }
  }
  let before = seen()
  return {
    look() {
      const now = seen()
      const jumps = timeJumps(before, now)
      before = now
      const told = jumps.map((jump) => timeJumpWords(jump, clock.wallTime()))
      for (const words of told) log.warn({}, sentence(words))
      return told
    },
  }
}
