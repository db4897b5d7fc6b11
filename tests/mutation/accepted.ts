import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { parse } from 'yaml'
import { z } from 'zod'

/** A mutation that no test need notice: the file's name, the line, trimmed, the change as the run prints it (or "any"), and why. */
const Accepted = z.strictObject({
  file: z.string().regex(/^[\w-]+\.ts$/),
  code: z.string().min(1),
  change: z.string().regex(/^any$| -> /),
  reason: z.string().min(10),
})
export type Accepted = z.infer<typeof Accepted>

export function acceptedMutations(): readonly Accepted[] {
  return z.array(Accepted).parse(parse(readFileSync(join(import.meta.dirname, 'accepted.yaml'), 'utf8')))
}
