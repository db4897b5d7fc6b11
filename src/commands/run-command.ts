import { wordsOf } from '../fault/bench-error.ts'
import type { Command, ExitCode, Output, Values } from './command.ts'

/**
 * Runs a command. Where a person ends it before it has opened all that it needs, that is no fault: one that goes on until it is ended answers 0
 * as it would later, any other says by what it was ended and answers 2. Throws whatever else the command throws.
 */
export async function runCommand(
  command: Command,
  values: Values,
  words: readonly string[],
  output: Output,
  signal: AbortSignal,
): Promise<ExitCode> {
  try {
    return await command.run(values, words, output, signal)
  } catch (error) {
    if (!signal.aborted || error !== signal.reason) throw error
    if (command.goesOn?.(values) === true) return 0
    output.err(wordsOf(error))
    return 2
  }
}
