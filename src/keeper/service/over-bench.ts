import { said, type Words } from '../../words/said/said.ts'
import type { SupplyLimits } from './supply.ts'

/** What of these limits the bench file does not allow, or does not fit together, before a keeper hears of them; null: nothing. V and A. */
export function overBench(
  limits: SupplyLimits,
  bench: { readonly ceilingVolts: number; readonly ceilingAmps: number },
): Words | null {
  if (limits.ceilingVolts > bench.ceilingVolts)
    return said('keeper.ceiling-above-bench', { ceiling: `${limits.ceilingVolts} V`, most: `${bench.ceilingVolts} V` })
  if (limits.ceilingAmps > bench.ceilingAmps)
    return said('keeper.amps-ceiling-above-bench', {
      ceiling: `${limits.ceilingAmps} A`,
      most: `${bench.ceilingAmps} A`,
    })
  if (limits.normalVolts > limits.ceilingVolts)
    return said('keeper.normal-above-ceiling', {
      normal: `${limits.normalVolts} V`,
      ceiling: `${limits.ceilingVolts} V`,
    })
  return null
}
