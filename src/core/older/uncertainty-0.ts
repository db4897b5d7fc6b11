import type { MeterFacts } from '../../schema/kept/reading.ts'
import { gainOf, sigmaOf } from '../uncertainty/correction.ts'

/**
 * Version 0, never edited: expanded uncertainty (k = 2) of the newest single reading at the set, in its unit, whatever the value was
 * made from: limits of error and half a display step as rectangular parts, and the meter's stated noise. A resistor in series with the
 * meter was left out of account.
 */
export function expandedZero(newest: number, facts: MeterFacts): number {
  const gain = gainOf(facts)
  const accuracy = (facts.accuracy.ofReading * Math.abs(newest) + facts.accuracy.floor * gain) / Math.sqrt(3)
  const step = (facts.step * gain) / 2 / Math.sqrt(3)
  return 2 * Math.hypot(accuracy, step, sigmaOf(newest, facts))
}
