import { placesOf } from '../../../src/core/job/picture/job-view.ts'
import { ToolOfSheet, Where } from '../../../src/schema/files/where.ts'
import type { StepView } from '../../../src/schema/messages/shown.ts'

/** The places of a step as a frame has them, from what a sheet says under `where:`. */
export function placesIn(where: Readonly<Record<string, unknown>>): StepView['where'] {
  return placesOf(Where.parse(where), undefined)
}

/** An adjuster's tool as a frame has it, from what a sheet says. */
export function toolIn(said: unknown): NonNullable<StepView['tool']> {
  return ToolOfSheet.parse(said)
}
