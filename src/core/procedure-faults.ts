import type { ChannelPlan } from '../schema/channel-plan.ts'
import type { FieldFault } from '../schema/field-fault.ts'
import type { Procedure } from '../schema/procedure-file.ts'
import type { MeasuredStep } from '../schema/step-file.ts'
import { type BandChannel, findChannel, middleOf } from './channels.ts'
import { goalOf } from './goal.ts'
import { channelsInUse } from './job-plan.ts'

/**
 * What is wrong with a procedure that fits its schema, seen with the channel plans: channels that no band has, reserved channels
 * that would be keyed, an aim outside its target. Asked of files at the door only: procedures inside records stand as they were.
 */
export function procedureFaults(procedure: Procedure, plans: ReadonlyMap<string, ChannelPlan>): readonly FieldFault[] {
  const channels = channelsInUse(procedure, plans, Object.keys(procedure.bands))
  return procedure.steps.flatMap((step, at) => {
    if (step.kind !== 'measure') return []
    const path = ['steps', at] as const
    const words = [...channelFaults(step, channels), ...aimFaults(step, channels)]
    return words.map(([field, said]): FieldFault => ({ path: [...path, ...field], at: 'value', words: said }))
  })
}

type Said = readonly [field: readonly (string | number)[], words: string]

/** The channels of a step as they stand in the file, with where each stands. */
function channelsOf(step: MeasuredStep): readonly (readonly [number, readonly (string | number)[]])[] {
  const numbers = [...new Set(step.stops.map(({ channel }) => channel))].filter((one) => typeof one === 'number')
  const list = numbers.length > 1
  return numbers.map((number, index) => [number, list ? ['channels', index] : ['channel']] as const)
}

function channelFaults(step: MeasuredStep, channels: readonly BandChannel[]): readonly Said[] {
  const keyed = step.stops.some(({ state }) => state === 'transmit')
  const inBand = channels.filter(({ band }) => step.band === null || band === step.band)
  return channelsOf(step).flatMap(([number, field]): readonly Said[] => {
    const channel = findChannel(number, inBand)
    if (!channel) return [[field, `channel ${number} is in none of the bands in use; there are ${runsOf(inBand)}`]]
    if (keyed && channel.reserved)
      return [
        [
          field,
          `channel ${number} is reserved and is never keyed; choose another, for example ${nearest(number, inBand)}`,
        ],
      ]
    return []
  })
}

function nearest(number: number, channels: readonly BandChannel[]): number | string {
  const free = channels.filter(({ reserved }) => !reserved)
  return free.toSorted((a, b) => Math.abs(a.channel - number) - Math.abs(b.channel - number))[0]?.channel ?? 'none'
}

/** "1 to 40 (cept)" for each band. */
function runsOf(channels: readonly BandChannel[]): string {
  const bands = [...new Set(channels.map(({ band }) => band))]
  const runs = bands.map((band) => {
    const numbers = channels.filter((one) => one.band === band).map(({ channel }) => channel)
    return `${Math.min(...numbers)} to ${Math.max(...numbers)} (${band})`
  })
  return runs.join(', ') || 'none'
}

/** The aim must lie in the target, on each channel of the step. */
function aimFaults(step: MeasuredStep, channels: readonly BandChannel[]): readonly Said[] {
  if (step.aim === null) return []
  const wanted = step.stops.map(({ channel }) => channel)
  const places = wanted.map((one) =>
    one === null
      ? null
      : ((one === 'middle' ? middleOf(channels) : findChannel(one, channels, step.band ?? undefined)) ?? null),
  )
  for (const place of places) {
    const goal = goalOf(step.target, place?.transmitHz ?? null, { aim: step.aim, rule: null })
    if (goal?.kind !== 'band') continue
    const { low, high } = goal.band
    const outside = (low !== null && goal.aimLow < low) || (high !== null && goal.aimHigh > high)
    if (outside)
      return [[['aim'], `lies outside the target "${step.targetWords}"; the whole aim window must lie inside it`]]
  }
  return []
}
