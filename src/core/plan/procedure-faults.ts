import type { FieldFault } from '../../schema/door/field-fault.ts'
import type { ChannelPlan } from '../../schema/files/channel-plan.ts'
import type { Procedure } from '../../schema/files/procedure-file.ts'
import { said } from '../../words/said/said.ts'
import { channelsInUse } from './job-plan.ts'
import { faultsThere, stepFaults } from './step-faults.ts'

/**
 * What is wrong with a procedure that fits its schema, seen with the channel plans: channels that no band has, reserved channels
 * that would be keyed, an aim outside its target, plans that are not there. Asked of files at the door only: procedures inside records stand as they were.
 */
export function procedureFaults(procedure: Procedure, plans: ReadonlyMap<string, ChannelPlan>): readonly FieldFault[] {
  const asked = Object.entries(procedure.bands).flatMap(([band, { use }]) => (use === 'ask' ? [band] : []))
  const all = channelsInUse(procedure, plans, asked)
  // channel 16 is another one where its first band is not chosen, and so is the middle
  const others = [[], ...asked.map((band) => [band])].map((chosen) => channelsInUse(procedure, plans, chosen))
  const missing = Object.entries(procedure.bands).flatMap(([band, { plan }]): readonly FieldFault[] =>
    plans.has(plan)
      ? []
      : [
          {
            path: ['bands', band, 'plan'],
            at: 'value',
            words: said('plan.no-channel-plan', { plan, plans: [...plans.keys()] }),
          },
        ],
  )
  if (missing.length > 0) return missing
  return procedure.steps.flatMap((step, at) => {
    if (step.kind !== 'measure') return []
    const faults = [...stepFaults(step, all), ...others.flatMap((channels) => faultsThere(step, channels))]
    const once = new Map(faults.map((one) => [JSON.stringify(one[1]), one]))
    return [...once.values()].map(
      ([field, words]): FieldFault => ({ path: ['steps', at, ...field], at: 'value', words }),
    )
  })
}
