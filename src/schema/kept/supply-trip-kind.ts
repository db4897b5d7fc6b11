import { z } from 'zod'

/** What ends an over-voltage when the program cannot: the supply's own trip, an external crowbar that the bench file names (V, day it was tried), or nothing. */
export const SupplyTrip = z.union([
  z.enum(['own', 'none']),
  z.strictObject({ crowbarVolts: z.number().positive(), tried: z.string() }).readonly(),
])
export type SupplyTrip = z.infer<typeof SupplyTrip>
