import type { ParseArgsConfig } from 'node:util'
import type { Words } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'

/** Where a command writes: answers to `out`, anything else to `err`. A line at a time, without its line end. */
export interface Output {
  out(line: string): void
  err(line: string): void
}

export type Values = Readonly<Record<string, string | boolean | undefined>>

/** 0: yes, done. 1: the answer is no. 2: it could not be asked. */
export type ExitCode = 0 | 1 | 2

/** One command of the command line. */
export interface Command {
  readonly usage: string
  readonly does: Words
  readonly options: NonNullable<ParseArgsConfig['options']>
  /** A line of help for each option. */
  readonly help: Readonly<Record<string, Words>>
  /** It goes on until a person ends it, which is then no failure. Left out: it ends by itself. */
  goesOn?(values: Values): boolean
  /** `signal` is aborted when the person ends the program; the command then closes what it opened and returns, or throws `signal.reason`. */
  run(values: Values, words: readonly string[], output: Output, signal: AbortSignal): Promise<ExitCode>
}

/** A word in front of a line, in a column of `width`. */
export function lineHead(words: Words, width: number): string {
  return `${sentence(words).padEnd(width - 1)} `
}

/** The value of a text option, or undefined. */
export function textOf(values: Values, name: string): string | undefined {
  const value = values[name]
  return typeof value === 'string' ? value : undefined
}
