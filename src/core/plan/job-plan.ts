import type { ChannelPlan } from '../../schema/files/channel-plan.ts'
import type { Procedure } from '../../schema/files/procedure-file.ts'
import type { RuleCard } from '../../schema/files/rule-card.ts'
import type { Intake } from '../../schema/kept/intake.ts'
import type { MeterFacts } from '../../schema/kept/reading.ts'
import type { SupplyTrip } from '../../schema/kept/supply-trip-kind.ts'
import { type Effects, NO_EFFECTS } from '../homing/effect.ts'
import { type BandChannel, middleOf } from '../radio/channels.ts'
import type { JobPlan } from './lines.ts'
import { doableWith, linesOf } from './lines.ts'

/** The channels of the bands in use: every band marked yes, and those of the "ask" ones that were chosen. */
export function channelsInUse(
  procedure: Procedure,
  plans: ReadonlyMap<string, ChannelPlan>,
  chosen: readonly string[],
): readonly BandChannel[] {
  return Object.entries(procedure.bands).flatMap(([band, use]) => {
    if (use.use === 'no' || (use.use === 'ask' && !chosen.includes(band))) return []
    const plan = plans.get(use.plan)
    if (!plan) return []
    const { from, to } = use.channels ?? { from: 1, to: Number.POSITIVE_INFINITY }
    return plan.channels
      .filter(({ channel }) => channel >= from && channel <= to)
      .map((channel) => ({ ...channel, band }))
  })
}

/** Everything that is fixed for one job. */
export function planJob(
  procedure: Procedure,
  plans: ReadonlyMap<string, ChannelPlan>,
  about: {
    readonly bands: readonly string[]
    readonly serial: string
    readonly ruleCard: RuleCard | null
    readonly meters: readonly MeterFacts[]
    readonly setsTone: boolean
    readonly supplyTrip: SupplyTrip
    readonly simulated: boolean
    readonly effects?: Effects
    readonly intake?: Intake | null
  },
): JobPlan {
  const channels = channelsInUse(procedure, plans, about.bands)
  const spacings = Object.values(procedure.bands).flatMap((use) => plans.get(use.plan)?.spacingHz ?? [])
  return {
    procedure,
    lines: doableWith(linesOf(procedure, about.ruleCard, about.supplyTrip), channels),
    ruleCard: about.ruleCard,
    decision: about.ruleCard?.decision ?? 'simple acceptance',
    serial: about.serial,
    intake: about.intake ?? null,
    meters: about.meters,
    channels,
    spacingHz: Math.min(...spacings, 1e9),
    bands: [...new Set(channels.map(({ band }) => procedure.bands[band]?.words ?? band))],
    middle: middleOf(channels) ?? null,
    setsTone: about.setsTone,
    supplyTrip: about.supplyTrip,
    simulated: about.simulated,
    effects: about.effects ?? NO_EFFECTS,
  }
}
