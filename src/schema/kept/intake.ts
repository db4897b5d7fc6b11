import { z } from 'zod'

/** What was found on a set before it was switched on: two earth questions, answered with an ohmmeter, and what somebody did to it earlier. */
export const Intake = z.strictObject({
  /** Chassis against supply minus: 0 ohm, or open. */
  chassis: z.enum(['to supply minus', 'floating', 'not measured']),
  /** Each speaker lead against the chassis: one of them 0 ohm, or both open. */
  speaker: z.enum(['one side to chassis', 'bridged', 'not measured']),
  /** Broken wax, chewed slots, bridged parts, in the words of whoever saw it; "" for nothing seen. */
  tampered: z.string().max(500),
})
export type Intake = z.infer<typeof Intake>
