import type { PlanChannel } from '../../schema/files/channel-plan.ts'

/** A channel of a band in use: its number is only meant inside its band. */
export interface BandChannel extends PlanChannel {
  readonly band: string
}

/**
 * The usable channel nearest the midpoint between the lowest and the highest channel of the bands in use.
 * A tie goes to the lower frequency; reserved channels are stepped round. undefined when nothing is usable.
 */
export function middleOf(channels: readonly BandChannel[]): BandChannel | undefined {
  const frequencies = channels.map((channel) => channel.transmitHz)
  const midpointHz = (Math.min(...frequencies) + Math.max(...frequencies)) / 2
  const usable = channels.filter((channel) => !channel.reserved)
  return usable.toSorted(
    (a, b) =>
      Math.abs(a.transmitHz - midpointHz) - Math.abs(b.transmitHz - midpointHz) ||
      a.transmitHz - b.transmitHz ||
      a.channel - b.channel,
  )[0]
}

/** The channel a counter reading belongs to: the nearest one, when it is within half a channel spacing; else undefined. */
export function channelAt(hz: number, channels: readonly BandChannel[], spacingHz: number): BandChannel | undefined {
  let nearest: BandChannel | undefined
  for (const channel of channels) {
    if (!nearest || Math.abs(channel.transmitHz - hz) < Math.abs(nearest.transmitHz - hz)) nearest = channel
  }
  return nearest && Math.abs(nearest.transmitHz - hz) <= spacingHz / 2 ? nearest : undefined
}

/** Channel `number` as a person means it: in the named band, or in the first band in use that has it. */
export function findChannel(number: number, channels: readonly BandChannel[], band?: string): BandChannel | undefined {
  return channels.find((channel) => channel.channel === number && (band === undefined || channel.band === band))
}
