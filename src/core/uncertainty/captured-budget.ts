import type { Evidence } from '../../schema/kept/evidence.ts'
import type { Captured } from '../../schema/messages/live-frame.ts'
import { budgetOf, type MadeFrom, meterDoubt } from './meter-budget.ts'
import { type Budget, budgetOfChange, type Combined, combine } from './uncertainty.ts'

/** What each kind of captured value was made from. A peak is captured settled, or in a brief key-down as a mean: taken as the former, whose doubt is larger. */
export const MADE_FROM: Readonly<Record<Captured['label'], MadeFrom>> = {
  settled: 'line',
  peaked: 'line',
  drifting: 'end of a line',
  short: 'mean',
  highest: 'one reading',
  typed: 'one reading',
}

/** A value as it stands in a record: its figures, and the meter that it was read by. */
export type Recorded = Pick<Captured, 'value' | 'label' | 'count' | 'spread'> & {
  readonly evidence: Pick<Evidence, 'facts' | 'seriesOhms'>
}

/** The budget of a captured value, part by part; combined it gives the uncertainty that was kept. */
export function budgetOfCaptured({ value, label, count, spread, evidence }: Recorded): Budget {
  const doubt = meterDoubt(evidence.facts, { seriesOhms: evidence.seriesOhms })
  return budgetOf(doubt, { value, count, spread, from: MADE_FROM[label] })
}

/** Uncertainty of the change between two captured values of one quantity: what one meter on one path reads wrong both times cancels as far as it is equal. */
export function doubtOfChange(found: Recorded, left: Recorded): Combined {
  return combine(budgetOfChange(budgetOfCaptured(found), budgetOfCaptured(left)))
}
