import { z } from 'zod'
import { oneOf, oneOrList, words } from '../door/fields.ts'

const message = words(255)
const reply = z.union([z.string().min(1).max(255), z.number()]).transform(String)

/**
 * What shows that an instrument still has what its start messages set: bit 7 of `*ESR?` (power on) is clear; a mark in `*ESE` is
 * there, which goes at power-on where `*PSC?` answers 1 (both IEEE 488.2); questions of its own with the reply that must come; or
 * each reading says it by itself.
 */
export const SettingsStand = z
  .strictObject({
    'power-on bit': oneOf(['clear']).optional(),
    mark: oneOf(['there']).optional(),
    answers: z.record(message, oneOrList(reply)).default({}),
    'each reading': oneOf(['says so']).optional(),
  })
  .refine((row) => row['each reading'] === undefined || Object.keys(row).length === 2, {
    path: ['each reading'],
    error: 'stands alone: nothing else need be asked then',
  })
  .transform((row) => ({
    powerOnBit: row['power-on bit'] !== undefined,
    mark: row.mark !== undefined,
    answers: Object.entries(row.answers).map(([ask, replies]) => ({ ask, replies })),
    inReading: row['each reading'] !== undefined,
  }))
export type SettingsStand = z.infer<typeof SettingsStand>
