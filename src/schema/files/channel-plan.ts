import { z } from 'zod'
import { formatOne, quantityText } from '../door/fields.ts'

/** One channel of a plan. Transmit and receive differ on two-frequency channels. `reserved`: never a test channel. */
export interface PlanChannel {
  readonly channel: number
  readonly transmitHz: number
  readonly receiveHz: number
  readonly reserved: boolean
}

const frequency = quantityText('Hz')

/** A channel plan as a file: every channel written out, since real plans have gaps and are out of order in places. */
export const ChannelPlan = z
  .strictObject({
    format: formatOne(),
    plan: z.string().regex(/^[a-z0-9-]+$/, 'small letters, digits and hyphens'),
    title: z.string(),
    source: z.string(),
    spacing: frequency,
    reserved: z.array(z.int()).default([]),
    channels: z.record(
      z.string().regex(/^\d{1,3}$/, 'a channel number'),
      z.union([frequency, z.strictObject({ transmit: frequency, receive: frequency })]),
    ),
  })
  .transform((file) => ({
    id: file.plan,
    title: file.title,
    source: file.source,
    spacingHz: file.spacing,
    channels: Object.entries(file.channels).map(([number, at]): PlanChannel => {
      const channel = Number(number)
      const both = typeof at === 'number' ? { transmit: at, receive: at } : at
      return { channel, transmitHz: both.transmit, receiveHz: both.receive, reserved: file.reserved.includes(channel) }
    }),
  }))
export type ChannelPlan = z.infer<typeof ChannelPlan>
