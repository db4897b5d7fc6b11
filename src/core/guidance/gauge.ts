import { printText, printValue } from '../../quantity/print-value.ts'
import type { PeakView, PegView, ReadingView, SlotView } from '../../schema/messages/gauge-view.ts'
import type { LiveFrame } from '../../schema/messages/live-frame.ts'
import type { PeakWatch } from '../peaking/peak-watch.ts'
import { ageOf, doubtOf, type Live, type LiveRule, sigmaDbOf } from '../reading/live.ts'
import { errorE, pegHalfE } from '../uncertainty/band.ts'
import { settleWords, stateWords } from './work-guide.ts'

/** The newest reading as a number with no more digits than the meter supports, or a word; with its age. */
export function readingView(live: Live, rule: LiveRule, nowMs: number): ReadingView | null {
  const { last } = live
  if (!last) return null
  const { ageMs, oldAfterMs } = ageOf(live, rule.facts, nowMs)
  const shown =
    last.value === null
      ? { digits: '', unit: '' }
      : printValue(last.value, rule.facts.unit, rule.print.step, rule.print.prefix ?? undefined)
  return {
    quantity: live.quantity,
    value: last.value,
    word: last.value === null ? stateWords(last.reading.state) : '',
    ...shown,
    arrivedMs: last.reading.arrivedMs,
    ageMs,
    oldAfterMs,
    instrument: rule.facts.instrument,
  }
}

/** The slot: the tolerance band with its labels, or the best seen with its return window. */
export function slotView(live: Live, rule: LiveRule): SlotView {
  const { goal, facts, print } = rule
  if (goal.kind === 'peak') {
    const best = live.peak?.bestValue
    return {
      kind: 'peak',
      dip: goal.dip,
      windowDb: rule.peak?.backDb ?? 0,
      passOverDb: rule.peak?.overDb ?? 0,
      bestLabel:
        best === undefined || !Number.isFinite(best) || best <= 0 ? '' : printText(best, facts.unit, print.step),
    }
  }
  const { band, aimLow, aimHigh, rule: limit } = goal
  const wall = limit?.high ?? limit?.low ?? null
  return {
    kind: 'band',
    lowLabel: print.low,
    highLabel: print.high,
    aimLabel: print.aim,
    aimLowE: clampE(errorE(aimLow, band)),
    aimHighE: clampE(errorE(aimHigh, band)),
    wallE: wall === null ? null : errorE(wall, band),
    wallLabel: print.wall,
    openLow: band.low === null,
    openHigh: band.high === null,
    low: band.low,
    high: band.high,
  }
}

const clampE = (e: number) => Math.max(-1, Math.min(1, e))

/** The peg: where the reading is, as wide as its uncertainty, ragged while it is not steady. */
export function pegView(live: Live, rule: LiveRule, drop: number): PegView | null {
  const value = live.last?.value
  if (value == null) return null
  const ragged = live.settle.verdict === 'settled' ? 0 : 1 - live.settle.share
  if (rule.goal.kind === 'peak') {
    const windowDb = rule.peak?.backDb ?? 1
    const belowDb = live.current ? (live.peak?.belowDb ?? 0) : 0
    return { e: -belowDb / windowDb, halfE: (2 * sigmaDbOf(rule.facts)) / windowDb, ragged, drop }
  }
  const e = errorE(value, rule.goal.band)
  return { e, halfE: pegHalfE(doubtOf(live, rule), value, rule.goal.band), ragged, drop }
}

/** How far the settling has come, for a bar and a word. */
export function settleView(live: Live): LiveFrame['settle'] {
  if (live.current === null) return { share: 0, seconds: 0, word: '' }
  return { share: live.settle.share, seconds: live.settle.windowS, word: settleWords(live) }
}

/** The nudge that is asked for now; nothing in other phases. */
export function nudgeView({ phase, memory }: PeakWatch): Pick<PeakView, 'nudge'> {
  if (phase !== 'nudge') return {}
  const { number, size, back } = memory.nudging.order
  return { nudge: { number, tenths: size, back } }
}
