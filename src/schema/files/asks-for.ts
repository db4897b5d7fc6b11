import { z } from 'zod'

/** What the page has to show with something that is done by hand: the bands of the job. */
export const AsksFor = z.enum(['bands'])

/** Sheets had this sentence before they could say `asks for: bands`. */
const ASKED_FOR_BANDS = 'Hold the two band keys at power-on until the band asked for is shown'

/** What is done by hand needs to know the bands of the job. */
export function asksForBands(said: z.infer<typeof AsksFor> | undefined, action = ''): boolean {
  return said === 'bands' || action === ASKED_FOR_BANDS
}
