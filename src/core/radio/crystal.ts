import { type Said, said, type Words } from '../../words/said/said.ts'
import { lineFromOrigin } from '../statistics/least-squares.ts'
import type { BandChannel } from './channels.ts'

/** A frequency as it should be and as it is, Hz. Of a receiver: the frequency at which it sits right. */
export interface FrequencySeen {
  readonly nominalHz: number
  readonly measuredHz: number
}

/** Error of a frequency as a ratio, above 0 where it is high; times 1e6 it is ppm. */
export function errorOf({ nominalHz, measuredHz }: FrequencySeen): number {
  return (measuredHz - nominalHz) / nominalHz
}

/** Hz that an error ratio of the reference makes at this frequency. */
export function offsetHz(error: number, atHz: number): number {
  return error * atHz
}

/** What one error of the reference, a ratio, makes on a channel, Hz. */
export interface ChannelOffset {
  readonly band: string
  readonly channel: number
  readonly transmitHz: number
  readonly receiveHz: number
}

/** What one error of the reference makes on every channel: all of a synthesised set's frequencies come from one crystal. */
export function offsetsOn(error: number, channels: readonly BandChannel[]): readonly ChannelOffset[] {
  return channels.map(({ band, channel, transmitHz, receiveHz }) => ({
    band,
    channel,
    transmitHz: offsetHz(error, transmitHz),
    receiveHz: offsetHz(error, receiveHz),
  }))
}

/** The one error of the reference that suits frequencies read on several channels. */
export interface ReferenceError {
  readonly error: number
  /** Standard error of it, a ratio; NaN from one reading. */
  readonly doubt: number
  /** The farthest that a reading lies from what this error makes of its channel, Hz. */
  readonly farthestHz: number
}

/** The error ratio of the reference from readings on one or more channels, by least squares through the origin. NaN of none. */
export function referenceError(seen: readonly FrequencySeen[]): ReferenceError {
  const points = seen.map(({ nominalHz, measuredHz }) => ({ x: nominalHz, y: measuredHz - nominalHz }))
  const { slope, slopeError } = lineFromOrigin(points)
  const farthestHz = Math.max(0, ...points.map(({ x, y }) => Math.abs(y - offsetHz(slope, x))))
  return { error: slope, doubt: slopeError, farthestHz }
}

/** Transmit and receive frequency held against each other. */
export interface CrystalCheck {
  readonly transmitError: number
  readonly receiveError: number
  /** "" where they agree. */
  readonly words: Words
}

/** Common practice: a few ppm, for the meters differ too. */
const AGREE_WITHIN = 3e-6

/** Transmit and receive come from one crystal, so their errors agree within a few ppm (`within`, a ratio); if not, the words say who is to be suspected. */
export function sameCrystal(
  { transmit, receive }: { readonly transmit: FrequencySeen; readonly receive: FrequencySeen },
  within = AGREE_WITHIN,
): CrystalCheck {
  const transmitError = errorOf(transmit)
  const receiveError = errorOf(receive)
  const apart = Math.abs(transmitError - receiveError) > within
  return {
    transmitError,
    receiveError,
    words: apart
      ? said('radio.crystal-apart', { transmit: ppmWords(transmitError), receive: ppmWords(receiveError) })
      : '',
  }
}

function ppmWords(error: number): Said {
  const size = (1e6 * Math.abs(error)).toFixed(1)
  const ppm = `${size} ppm`
  if (size === '0.0') return said('radio.ppm-right')
  return error > 0 ? said('radio.ppm-high', { ppm }) : said('radio.ppm-low', { ppm })
}
