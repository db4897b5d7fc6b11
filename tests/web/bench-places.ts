import type { PlaceOnBench } from '../../src/schema/messages/shown.ts'
import { placesIn, toolIn } from '../kit/job/places.ts'
import { step } from './frame-parts.ts'

/** A place of the bench as the welcome has it: filled and up unless said otherwise. */
export function place(
  what: PlaceOnBench['what'],
  instrument: string | null,
  more: Partial<PlaceOnBench> = {},
): PlaceOnBench {
  const link = instrument === null ? 'none' : 'up'
  return { what, instrument, needed: true, link, isolated: 'yes', lossDb: 0, ...more }
}

/** The step that sets the control voltage through the lid's hole. */
export const CONTROL = step({
  adjuster: 'VK',
  adjusterWhere: 'VCO coil, slug in the brass cup',
  tool: toolIn('non-metal'),
  transmit: 'receive',
  reads: [{ quantity: 'DC voltage', instrument: 'volts' }],
  where: placesIn({
    prod: { on: 'board', name: 'T1' },
    common: { on: 'strip', name: 'ES' },
    side: 'solder',
    set: 'upright in the holder',
    tool: "through the lid's hole",
  }),
})
