import { join } from 'node:path'
import { loadBench } from '../bench/load-bench.ts'
import { BenchError } from '../fault/bench-error.ts'
import { loadDriverFile } from '../instrument/load-driver.ts'
import { ChannelPlan } from '../schema/channel-plan.ts'
import { RuleCard } from '../schema/rule-card.ts'
import { readTextFile, readYamlBlock, readYamlText, refusalsOf } from '../schema/yaml-door.ts'
import type { Command, ExitCode } from './command.ts'
import { HOME } from './home.ts'
import { loadPlans, loadProcedure } from './load-procedures.ts'

/** Where the files are that a checked file names. */
export interface CheckPlaces {
  readonly drivers: string
}

interface FileUnderCheck {
  readonly path: string
  readonly text: string
  readonly places: CheckPlaces
}

/** The kinds of file, by the key that names them; each throws a BenchError when the file is not right. */
const KINDS: Readonly<Record<string, (file: FileUnderCheck) => unknown>> = {
  bench: ({ path, places }) => loadBench(path, places.drivers),
  driver: ({ path }) => loadDriverFile(path),
  procedure: ({ path }) => loadProcedure(path, loadPlans()),
  'rule card': ({ path, text }) => readYamlText(text, path, RuleCard),
  plan: ({ path, text }) => readYamlText(text, path, ChannelPlan),
}

/** What was found in one file. `unread`: it could not be opened, so nothing is known of it. */
export interface CheckedFile {
  readonly file: string
  readonly answer: 'right' | 'wrong' | 'unread'
  readonly refusals: readonly string[]
}

/** Checks files of any kind; never throws for what is wrong in them. */
export function checkFiles(paths: readonly string[], places: CheckPlaces): readonly CheckedFile[] {
  return paths.map((path) => {
    try {
      checkFile(path, places)
      return { file: path, answer: 'right', refusals: [] }
    } catch (error) {
      if (!(error instanceof BenchError)) throw error
      const answer = error.code === 'SCHEMA_FILE_MISSING' ? 'unread' : 'wrong'
      return { file: path, answer, refusals: refusalsOf(error) }
    }
  })
}

/** The lines to print: "FILE: right", or one line for each refusal. */
export function checkLines(files: readonly CheckedFile[]): readonly string[] {
  return files.flatMap((file) => (file.answer === 'right' ? [`${file.file}: right`] : file.refusals))
}

/** 0: all right; 1: a file is wrong; 2: a file could not be read. */
export function checkExit(files: readonly CheckedFile[]): ExitCode {
  if (files.some((file) => file.answer === 'unread')) return 2
  return files.every((file) => file.answer === 'right') ? 0 : 1
}

export const check: Command = {
  usage: 'check FILE...',
  does: 'says of bench, driver, procedure, channel plan and rule card files whether they are right, and if not where and why',
  options: {},
  help: {},
  run: async (values, words, output) => {
    if (words.length === 0) throw new BenchError('COMMAND_USAGE', 'trimwright check', 'no file was named')
    const files = checkFiles(words, { drivers: join(HOME, 'drivers') })
    if (values.json === true) output.out(JSON.stringify({ files }))
    else for (const line of checkLines(files)) output.out(line)
    return checkExit(files)
  },
}

function checkFile(path: string, places: CheckPlaces): void {
  const text = readTextFile(path)
  const top = readYamlBlock(text, path)
  const kind = Object.entries(KINDS).find(([key]) => key in top)
  if (!kind) {
    const keys = Object.keys(KINDS).join(', ')
    throw new BenchError('SCHEMA_REJECTED', path, `none of the keys that say what it is stands at its top: ${keys}`)
  }
  kind[1]({ path, text, places })
}
