import type { z } from 'zod'
import { BenchError } from '../../fault/bench-error.ts'
import { sentence } from '../../words/sentence/sentence.ts'
import { wordsIn } from './in-message.ts'

/** Turns what came through a door (a frame, a line, a body) into what `schema` makes of it. Throws SCHEMA_REJECTED listing every bad field. */
export function parseAtDoor<T>(schema: z.ZodType<T>, input: unknown, door: string): T {
  const result = schema.safeParse(input)
  if (result.success) return result.data
  const named = result.error.issues.map(
    (issue) => `${issue.path.map(String).join('.') || 'top level'}: ${sentence(wordsIn(issue.message))}`,
  )
  throw new BenchError('SCHEMA_REJECTED', door, named.join('; '), result.error)
}
