import { join } from 'node:path'
import type { Offered } from '../alignment/offered.ts'
import { loadBench } from '../bench/load-bench.ts'
import { BenchError } from '../fault/bench-error.ts'
import { loadDriverFile } from '../instrument/load-driver.ts'
import { HOME } from '../recording/home.ts'
import { placedIn, readTextFile, readYamlBlock, readYamlText, refusalsOf } from '../schema/door/yaml-door.ts'
import { ChannelPlan } from '../schema/files/channel-plan.ts'
import { RuleCard } from '../schema/files/rule-card.ts'
import { realClock } from '../system/clock.ts'
import { said, type Words } from '../words/said/said.ts'
import { sentence, worded } from '../words/sentence/sentence.ts'
import { DRIVERS } from './bench-options.ts'
import { NOTHING_SAID, type SaidOfFile, type SheetAtHand, saidOfBench, saidOfDriver } from './check-trip.ts'
import type { Command, ExitCode } from './command.ts'
import { loadPlans, loadProcedure, loadProcedures } from './load-procedures.ts'

/** Where the files are that a checked file names, and what day it is. */
export interface CheckPlaces {
  readonly drivers: string
  /** Sheets that a bench is held against where none is named beside it. */
  readonly procedures: string
  /** A day like 2026-11-02. */
  readonly today: string
}

interface FileUnderCheck {
  readonly path: string
  readonly text: string
  readonly places: CheckPlaces
  /** Sheets that stand beside it on the command line. */
  readonly named: readonly SheetAtHand[]
}

/** The kinds of file, by the key that names them; each throws a BenchError when the file is not right, and gives what is to be known of one that is. */
const KINDS: Readonly<Record<string, (file: FileUnderCheck) => SaidOfFile>> = {
  bench: ({ path, places, named }) => {
    const others = named.length > 0 ? [] : loadProcedures(loadPlans(), places.procedures).map(sheetOf)
    return saidOfBench(loadBench(path, places.drivers, places.today), { named, others }, places.today)
  },
  driver: ({ path }) => saidOfDriver(loadDriverFile(path)),
  procedure: ({ path }) => nothingOf(loadProcedure(path, loadPlans())),
  'rule card': ({ path, text }) => nothingOf(readYamlText(text, path, RuleCard)),
  plan: ({ path, text }) => nothingOf(readYamlText(text, path, ChannelPlan)),
}

const sheetOf = ({ file, procedure }: Offered): SheetAtHand => ({ file, set: procedure.set })
const nothingOf = (_read: unknown): SaidOfFile => NOTHING_SAID

/** What was found in one file. `unread`: it could not be opened, so nothing is known of it. */
export interface CheckedFile {
  readonly file: string
  readonly answer: 'right' | 'wrong' | 'unread'
  readonly refusals: readonly Words[]
  /** What is no mistake, but is to be known. */
  readonly notes: readonly Words[]
}

/** Checks files of any kind; never throws for what is wrong in them. */
export function checkFiles(paths: readonly string[], places: CheckPlaces): readonly CheckedFile[] {
  const named = paths.flatMap(sheetsIn)
  return paths.map((path): CheckedFile => {
    try {
      const text = readTextFile(path)
      const { faults, notes } = kindOf(path, text)({ path, text, places, named })
      const answer = faults.length === 0 ? 'right' : 'wrong'
      return { file: path, answer, refusals: placedIn(text, path, faults), notes: placedIn(text, path, notes) }
    } catch (error) {
      if (!(error instanceof BenchError)) throw error
      const answer = error.code === 'SCHEMA_FILE_MISSING' ? 'unread' : 'wrong'
      return { file: path, answer, refusals: refusalsOf(error), notes: [] }
    }
  })
}

/** The sheet that this file is, if it is a right one. */
function sheetsIn(path: string): readonly SheetAtHand[] {
  try {
    const text = readTextFile(path)
    return 'procedure' in readYamlBlock(text, path)
      ? [{ ...sheetOf(loadProcedure(path, loadPlans())), file: path }]
      : []
  } catch (error) {
    if (!(error instanceof BenchError)) throw error
    return [] // told where the file itself is checked
  }
}

/** The lines to print: "FILE: right", or one line for each refusal; then one for each note. */
export function checkLines(files: readonly CheckedFile[]): readonly Words[] {
  return files.flatMap(({ file, answer, refusals, notes }) => [
    ...(answer === 'right' ? [said('command.check-right', { file })] : refusals),
    ...notes,
  ])
}

/** 0: all right; 1: a file is wrong; 2: a file could not be read. */
export function checkExit(files: readonly CheckedFile[]): ExitCode {
  if (files.some((file) => file.answer === 'unread')) return 2
  return files.every((file) => file.answer === 'right') ? 0 : 1
}

export const check: Command = {
  usage: 'check FILE...',
  does: said('command.check-does'),
  options: {},
  help: {},
  run: async (values, words, output) => {
    if (words.length === 0) throw new BenchError('COMMAND_USAGE', 'trimwright check', said('command.check-no-file'))
    const places = { drivers: DRIVERS, procedures: join(HOME, 'procedures') }
    const files = checkFiles(words, { ...places, today: realClock().wallTime().slice(0, 10) })
    if (values.json === true) output.out(JSON.stringify(worded({ files })))
    else for (const line of checkLines(files)) output.out(sentence(line))
    return checkExit(files)
  },
}

function kindOf(path: string, text: string): (file: FileUnderCheck) => SaidOfFile {
  const top = readYamlBlock(text, path)
  const kind = Object.entries(KINDS).find(([key]) => key in top)
  if (!kind) {
    throw new BenchError('SCHEMA_REJECTED', path, said('command.check-no-kind', { keys: Object.keys(KINDS) }))
  }
  return kind[1]
}
