import { z } from 'zod'
import { formatOne, oneOf, quantityText, words, yesNo } from '../door/fields.ts'

/** One channel of a plan. Transmit and receive differ on two-frequency channels. `reserved`: never a test channel. */
export interface PlanChannel {
  readonly channel: number
  readonly transmitHz: number
  readonly receiveHz: number
  readonly reserved: boolean
}

const frequency = quantityText('Hz')

/** What channels are set apart for, and how that is known: READ in `source`, or from MEMORY. */
const Use = z.strictObject({
  channels: z.array(z.int()).min(1),
  for: words(120),
  'never keyed': yesNo().default(false),
  mark: oneOf(['READ', 'MEMORY']),
  source: words(300).optional(),
})

/** A channel plan as a file: every channel written out, since real plans have gaps and are out of order in places. */
export const ChannelPlan = z
  .strictObject({
    format: formatOne(),
    plan: z.string().regex(/^[a-z0-9-]+$/, 'small letters, digits and hyphens'),
    title: z.string(),
    source: z.string(),
    spacing: frequency,
    /** As files had it before `uses`; still read. */
    reserved: z.array(z.int()).default([]),
    uses: z.array(Use).default([]),
    channels: z.record(
      z.string().regex(/^\d{1,3}$/, 'a channel number'),
      z.union([frequency, z.strictObject({ transmit: frequency, receive: frequency })]),
    ),
  })
  .superRefine((file, context) => {
    for (const [at, { channels, mark, source }] of file.uses.entries()) {
      const path = ['uses', at]
      if (mark === 'READ' && source === undefined)
        context.addIssue({ code: 'custom', path, message: 'says READ and not where: add "source", or say MEMORY' })
      const missing = channels.filter((channel) => !(channel in file.channels))
      if (missing.length > 0)
        context.addIssue({ code: 'custom', path, message: `the plan has no channel ${missing.join(', ')}` })
    }
  })
  .transform((file) => ({
    id: file.plan,
    title: file.title,
    source: file.source,
    spacingHz: file.spacing,
    uses: file.uses.map((use) => ({
      channels: use.channels,
      for: use.for,
      neverKeyed: use['never keyed'],
      mark: use.mark,
      source: use.source ?? '',
    })),
    channels: Object.entries(file.channels).map(([number, at]): PlanChannel => {
      const channel = Number(number)
      const both = typeof at === 'number' ? { transmit: at, receive: at } : at
      return { channel, transmitHz: both.transmit, receiveHz: both.receive, reserved: isReserved(file, channel) }
    }),
  }))
export type ChannelPlan = z.infer<typeof ChannelPlan>

interface Reserving {
  readonly reserved: readonly number[]
  readonly uses: readonly z.infer<typeof Use>[]
}

function isReserved({ reserved, uses }: Reserving, channel: number): boolean {
  return reserved.includes(channel) || uses.some((use) => use['never keyed'] && use.channels.includes(channel))
}
