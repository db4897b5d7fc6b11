import { z } from 'zod'
import type { Argument, Said, Words } from '../../words/said/said.ts'

const Places: z.ZodType<Argument> = z.lazy(() => z.union([z.string(), z.number(), SaidShape, z.array(Places)]))

/** A sentence as data, as it stands in journals, records and messages (`src/words/said/said.ts`). */
const SaidShape: z.ZodType<Said> = z.lazy(() =>
  z.strictObject({ said: z.string().min(1).max(80), with: z.record(z.string().max(40), Places).optional() }),
) as z.ZodType<Said>

/** A sentence as data, or a text as a person, a file or an older program wrote it. */
export const WordsShape: z.ZodType<Words> = z.union([z.string(), SaidShape])
