import type { Bench } from '../bench/bench.ts'
import { NOBODY_MS } from '../core/job/steps/attendance.ts'
import { stopAnswer } from '../core/job/stop-answer.ts'
import { cannotBegin } from '../core/plan/raising.ts'
import { wordsOf } from '../fault/bench-error.ts'
import type { Deps } from '../system/deps.ts'
import { said, type Words } from '../words/said/said.ts'
import type { Attendance } from './attendance.ts'
import type { Answer } from './live-source.ts'
import type { Offered } from './offered.ts'
import { switchOn } from './perform.ts'

/** The supply for looking at a radio outside a job. */
export interface SupplyByHand {
  /** Normal voltage of the procedure in this file, never more. A fault is told as an event of the keeper would be. */
  on(file: string): Answer
  stop(): Answer
  /** Called at each tick while no job is open: nobody has been there for ten minutes, so the output goes off. */
  leftAlone(): void
}

/** The supply outside a job, for whoever is at the page. */
export function openSupplyByHand(about: {
  readonly bench: Pick<Bench, 'supply' | 'supplyTrip'>
  readonly procedures: readonly Offered[]
  readonly attendance: Attendance
  readonly log: Deps['log']
}): SupplyByHand {
  const { procedures, attendance, log } = about
  const { supply, supplyTrip } = about.bench
  const off = (why: Words) => {
    supply.safe(why).catch((error) => log.error({ fault: wordsOf(error) }, 'the supply was not switched off'))
  }
  return {
    on: (file) => {
      const absent = attendance.absent()
      if (absent !== null) return { ok: false, words: said('desk.not-switched-on', { why: absent }) }
      const offered = procedures.find((one) => one.file === file)
      if (!offered) return { ok: false, words: `there is no procedure "${file}" to take the normal voltage from` }
      const { set } = offered.procedure
      const against = cannotBegin(supplyTrip, set)
      if (against !== '') return { ok: false, words: against }
      // whoever only watches keys the radio too: the limit for transmit, at normal voltage
      switchOn(supply.wish(), set, set.limitAmps).catch((error) =>
        log.warn({ fault: wordsOf(error) }, 'the supply was not switched on'),
      )
      const trips = supplyTrip === 'own' ? set.tripVolts : supplyTrip === 'none' ? null : supplyTrip.crowbarVolts
      const trip = trips === null ? 'without an over-voltage trip' : `trip at ${trips} V`
      return { ok: true, words: `supply to ${set.supplyVolts} V, ${trip}` }
    },
    stop: () => {
      const words = stopAnswer(supply.latest().output)
      off('stopped by hand')
      return { ok: true, words }
    },
    leftAlone: () => {
      if (attendance.longerThan(NOBODY_MS) && supply.latest().output !== 'off')
        off(`nobody was at the page for ${NOBODY_MS / 60_000} min`)
    },
  }
}
