import type { Clock } from '../system/clock.ts'
import type { Words } from '../words/said/said.ts'

/** Whether somebody is at the page that steers, as the server says it; before it says anything, whoever starts a job is there. */
export interface Attendance {
  tell(present: boolean, why: Words): void
  /** Why nobody is there; null while somebody is. */
  absent(): Words | null
  /** Nobody has been there for `forMs` of bench time; true once for each absence. */
  longerThan(forMs: number): boolean
}

/** Attendance on `clock`. */
export function openAttendance(clock: Clock): Attendance {
  let absence: { readonly why: Words; readonly sinceMs: number } | null = null
  let toldFor: object | null = null
  return {
    tell: (present, why) => {
      absence = present ? null : (absence ?? { why, sinceMs: clock.nowMs() })
    },
    absent: () => absence?.why ?? null,
    longerThan: (forMs) => {
      if (!absence || absence === toldFor || clock.nowMs() - absence.sinceMs < forMs) return false
      toldFor = absence
      return true
    },
  }
}
