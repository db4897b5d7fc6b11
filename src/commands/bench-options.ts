import { join } from 'node:path'
import { BenchError } from '../fault/bench-error.ts'
import { HOME } from '../recording/home.ts'
import type { Pace } from '../system/clock.ts'
import { said } from '../words/said/said.ts'
import { textOf, type Values } from './command.ts'

/** The bench that is opened where none is named. */
export const SIMULATED_BENCH = join(HOME, 'mocks', 'benches', 'separate.yaml')
export const DRIVERS = join(HOME, 'drivers')

/** What a person chose on the command line, for every command that opens a bench. */
export interface ServiceChoice {
  readonly benchFile: string
  readonly dataFolder: string
  readonly seed: number | null
  readonly pace: Pace
  readonly simulatedMore: readonly string[]
  /** How long instruments are waited for before the bench counts as open; one that is slower joins later. */
  readonly openWithinMs?: number
  /** Where the whole course goes as it comes; where it is left out, the last of it is held in memory. */
  readonly courseIn?: string
}

export const BENCH_OPTIONS = {
  bench: { type: 'string' },
  data: { type: 'string' },
  seed: { type: 'string' },
  cold: { type: 'boolean' },
  course: { type: 'string' },
} as const
export const BENCH_HELP = {
  bench: said('command.option-bench'),
  data: said('command.option-data'),
  seed: said('command.option-seed'),
  cold: said('command.option-cold'),
  course: said('command.option-course'),
} as const

/** Reads the common options. Throws COMMAND_USAGE. */
export function choiceOf(values: Values): ServiceChoice {
  const pace = numberOf(values, 'pace') ?? 1
  if (pace < 0.1 || pace > 100)
    throw new BenchError('COMMAND_USAGE', 'trimwright', said('command.pace-range', { pace }))
  const courseIn = textOf(values, 'course')
  return {
    ...(courseIn === undefined ? {} : { courseIn }),
    benchFile: textOf(values, 'bench') ?? SIMULATED_BENCH,
    dataFolder: textOf(values, 'data') ?? join(HOME, 'data'),
    seed: numberOf(values, 'seed') ?? null,
    pace: { times: pace, originMs: performance.timeOrigin },
    simulatedMore: values.cold === true ? ['--cold'] : [],
  }
}

/** A number given as an option, or undefined. Throws COMMAND_USAGE for anything else. */
export function numberOf(values: Values, name: string): number | undefined {
  const text = textOf(values, name)
  if (text === undefined) return undefined
  if (!/^\d+(\.\d+)?$/.test(text))
    throw new BenchError('COMMAND_USAGE', 'trimwright', said('command.needs-number', { option: name, text }))
  return Number(text)
}
