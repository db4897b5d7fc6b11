import { cannotBegin } from '../core/plan/raising.ts'
import type { ChannelPlan } from '../schema/files/channel-plan.ts'
import type { RuleCard } from '../schema/files/rule-card.ts'
import type { SupplyTrip } from '../schema/kept/supply-trip-kind.ts'
import type { FromPage } from '../schema/messages/live-frame.ts'
import type { Words } from '../words/said/said.ts'
import type { Offered, OfferedCard } from './offered.ts'

type StartJob = Extract<FromPage, { kind: 'start job' }>

/** The procedure and the rule card that a job is to be started with; or in words why it cannot be. */
export function chosenFor(
  asked: StartJob,
  offers: {
    readonly procedures: readonly Offered[]
    readonly ruleCards: readonly OfferedCard[]
    readonly plans: ReadonlyMap<string, ChannelPlan>
    readonly supplyTrip: SupplyTrip
  },
):
  | { readonly ok: true; readonly offered: Offered; readonly card: RuleCard | null }
  | { readonly ok: false; readonly words: Words } {
  const refuse = (words: Words) => ({ ok: false as const, words })
  const offered = offers.procedures.find(({ file }) => file === asked.procedure)
  if (!offered) return refuse(`there is no procedure "${asked.procedure}"`)
  const chosen = offers.ruleCards.find(({ file }) => file === asked.rules)
  if (asked.rules !== undefined && !chosen) return refuse(`there is no rule card "${asked.rules}"`)
  const { bands, set } = offered.procedure
  const against = cannotBegin(offers.supplyTrip, set)
  if (against !== '') return refuse(against)
  const missing = Object.values(bands).find((use) => !offers.plans.has(use.plan))
  if (missing) return refuse(`there is no channel plan "${missing.plan}" for this procedure`)
  const unknown = asked.bands.find((band) => !Object.hasOwn(bands, band))
  if (unknown !== undefined) return refuse(`"${unknown}" is not one of the bands of this procedure`)
  return { ok: true, offered, card: chosen?.card ?? null }
}
