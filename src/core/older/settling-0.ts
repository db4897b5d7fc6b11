import type { SettleRule } from '../settling/settle-rule.ts'
import type { Rested } from '../settling/settling.ts'
import { restedBy } from './settling-1.ts'
import { look } from './still-0.ts'

/** Version 0, never edited: as version 1, but a line may reach across a jump. */
export function restedZero(
  readings: readonly { readonly atS: number; readonly value: number }[],
  rule: SettleRule,
): Rested {
  return restedBy(readings, rule, look)
}
