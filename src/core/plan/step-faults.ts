import type { MeasuredStep } from '../../schema/files/step-file.ts'
import { type Said as Sentence, said, type Words } from '../../words/said/said.ts'
import { goalOf } from '../goal/goal.ts'
import { type BandChannel, findChannel, middleOf } from '../radio/channels.ts'

/** A field of a step, and what is wrong with it and how it is put right, in words. */
export type Said = readonly [field: readonly (string | number)[], words: Words]

/**
 * What is wrong with a step whatever is measured, seen with the channels that are in use: channels that no band has, reserved ones
 * that would be keyed, an aim outside its target. The parts of a step that are looked at are those of a job's steps too.
 */
export function stepFaults(step: Judged, channels: readonly BandChannel[]): readonly Said[] {
  return [...missingChannels(step, channels), ...faultsThere(step, channels)]
}

/** What is wrong with it on the channels that are there. */
export function faultsThere(step: Judged, channels: readonly BandChannel[]): readonly Said[] {
  return [...keyedReserved(step, channels), ...aimFaults(step, channels)]
}

type Judged = Pick<MeasuredStep, 'stops' | 'band' | 'aim' | 'targetWords'> & {
  readonly target: MeasuredStep['target'] | null
}

/** The channels of a step as they stand in the file, with where each stands. */
function channelsOf(step: Judged): readonly (readonly [number, readonly (string | number)[]])[] {
  const numbers = [...new Set(step.stops.map(({ channel }) => channel))].filter((one) => typeof one === 'number')
  const list = numbers.length > 1
  return numbers.map((number, index) => [number, list ? ['channels', index] : ['channel']] as const)
}

function missingChannels(step: Judged, channels: readonly BandChannel[]): readonly Said[] {
  const inBand = inBandOf(step, channels)
  return channelsOf(step).flatMap(([number, field]): readonly Said[] =>
    findChannel(number, inBand)
      ? []
      : [[field, said('plan.channel-missing', { channel: number, runs: runsOf(inBand) })]],
  )
}

function keyedReserved(step: Judged, channels: readonly BandChannel[]): readonly Said[] {
  if (!step.stops.some(({ state }) => state === 'transmit')) return []
  const inBand = inBandOf(step, channels)
  return channelsOf(step).flatMap(([number, field]): readonly Said[] => {
    const channel = findChannel(number, inBand)
    if (!channel?.reserved) return []
    const other = nearest(number, inBand)
    return [[field, said('plan.channel-reserved', { channel: number, band: channel.band, other })]]
  })
}

function inBandOf({ band }: Judged, channels: readonly BandChannel[]): readonly BandChannel[] {
  return channels.filter((one) => band === null || one.band === band)
}

/** Why a job with these channels leaves the step out, in words; "" where it can be done. */
export function cannotBeDone(step: Judged, channels: readonly BandChannel[]): Words {
  const [first] = stepFaults(step, channels)
  if (first) return first[0][0] === 'aim' ? said('plan.its-aim', { what: first[1] }) : first[1]
  const nowhere = step.stops.some(({ channel }) => channel === 'middle') && !middleOf(channels)
  return nowhere ? said('plan.no-middle') : ''
}

function nearest(number: number, channels: readonly BandChannel[]): number | Sentence {
  const free = channels.filter(({ reserved }) => !reserved)
  return (
    free.toSorted((a, b) => Math.abs(a.channel - number) - Math.abs(b.channel - number))[0]?.channel ??
    said('plan.none')
  )
}

/** "1 to 40 (cept)" for each band. */
function runsOf(channels: readonly BandChannel[]): Sentence | readonly Sentence[] {
  const bands = [...new Set(channels.map(({ band }) => band))]
  const runs = bands.map((band) => {
    const numbers = channels.filter((one) => one.band === band).map(({ channel }) => channel)
    return said('plan.run', { from: Math.min(...numbers), to: Math.max(...numbers), band })
  })
  return runs.length === 0 ? said('plan.none') : runs
}

/** The aim must lie in the target, on each channel of the step. */
function aimFaults(step: Judged, channels: readonly BandChannel[]): readonly Said[] {
  const { aim, target } = step
  if (aim === null || target === null) return []
  const wanted = step.stops.map(({ channel }) => channel)
  const places = wanted.map((one) =>
    one === null
      ? null
      : ((one === 'middle' ? middleOf(channels) : findChannel(one, channels, step.band ?? undefined)) ?? null),
  )
  for (const place of places) {
    const goal = goalOf(target, place?.transmitHz ?? null, { aim, rule: null })
    if (goal?.kind !== 'band') continue
    const { low, high } = goal.band
    const outside = (low !== null && goal.aimLow < low) || (high !== null && goal.aimHigh > high)
    if (outside) return [[['aim'], said('plan.aim-outside', { target: step.targetWords })]]
  }
  return []
}
