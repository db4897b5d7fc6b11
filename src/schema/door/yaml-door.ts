import { readFileSync, statSync } from 'node:fs'
import { z } from 'zod'
import { BenchError, wordsOf } from '../../fault/bench-error.ts'
import { said } from '../../words/said/said.ts'
import { sentence } from '../../words/sentence/sentence.ts'
import { type FieldFault, type FieldPath, faultsOf } from './field-fault.ts'
import { parseYamlText } from './yaml-text.ts'

/** Longest file that is read, bytes. A bench, driver or procedure written by a person stays far below. */
export const LONGEST_FILE_BYTES = 256 * 1024

/** Longest record that is read, bytes: a full job with every step repeated many times stays far below. */
export const LONGEST_RECORD_BYTES = 64 * 1024 * 1024

/** The newest `format` of files that is read. */
const FORMAT = 1

/** What stands round a schema at the door. */
export interface DoorExtras<T> {
  /** Completes what was read before the schema sees it (a file that extends another). */
  readonly prepare?: (read: unknown) => unknown
  /** Checks a value that fits its schema, where the schema alone cannot: sample replies, names in other files. */
  readonly further?: (value: T) => readonly FieldFault[]
}

/**
 * Reads YAML text from `door` (a file's path) into the value that `schema` makes of it.
 * Throws SCHEMA_REJECTED naming every wrong field with line, column, what was read and what would be right; SCHEMA_FORMAT_NEWER.
 */
export function readYamlText<T>(text: string, door: string, schema: z.ZodType<T>, extras: DoorExtras<T> = {}): T {
  const yaml = parseYamlText(text)
  if (!('value' in yaml))
    throw refusal(
      door,
      yaml.map(({ place, words }) => `${door}:${place.line}:${place.column}: ${sentence(words)}`),
    )
  refuseNewer(yaml.value, door)
  const input = extras.prepare ? extras.prepare(yaml.value) : yaml.value
  const result = schema.safeParse(input)
  const faults = result.success ? (extras.further?.(result.data) ?? []) : faultsOf(result.error, schema, input)
  if (result.success && faults.length === 0) return result.data
  throw refusal(door, placedLines(faults, door, yaml, input))
}

/** Each of these, with its place in the YAML text: what is no mistake, but is to be known. Nothing of a text that is no YAML. */
export function placedIn(text: string, door: string, said: readonly FieldFault[]): readonly string[] {
  const yaml = parseYamlText(text)
  return 'value' in yaml ? placedLines(said, door, yaml, yaml.value) : []
}

type Placing = Pick<Extract<ReturnType<typeof parseYamlText>, { readonly value: unknown }>, 'placeOf'>

function placedLines(faults: readonly FieldFault[], door: string, yaml: Placing, input: unknown): readonly string[] {
  return faults
    .map((fault) => ({ ...fault, place: yaml.placeOf(fault.path, fault.at) }))
    .toSorted((a, b) => a.place.line - b.place.line || a.place.column - b.place.column)
    .map(
      ({ place, path, words }) =>
        `${door}:${place.line}:${place.column}: ${pathWords(path, input)}: ${sentence(words)}`,
    )
}

/** Reads the YAML file at `path`; throws SCHEMA_FILE_MISSING where it cannot be read, else as `readYamlText`. */
export function readYamlFile<T>(path: string, schema: z.ZodType<T>, extras: DoorExtras<T> = {}): T {
  return readYamlText(readTextFile(path), path, schema, extras)
}

/** Any YAML text that is a block of keys, before its kind is known. Throws SCHEMA_REJECTED. */
export function readYamlBlock(text: string, door: string): Readonly<Record<string, unknown>> {
  return readYamlText(text, door, z.record(z.string(), z.unknown()))
}

/** The text of a UTF-8 file of at most `longest` bytes, by default 256 KiB. Throws SCHEMA_FILE_MISSING or SCHEMA_REJECTED. */
export function readTextFile(path: string, longest = LONGEST_FILE_BYTES): string {
  const bytes = readBytes(path, longest)
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes)
  } catch (error) {
    const line = bytes.subarray(0, firstBadByte(bytes)).filter((byte) => byte === 0x0a).length + 1
    throw new BenchError('SCHEMA_REJECTED', path, said('file.not-utf-8', { line }), error)
  }
}

/** The single refusals of a SCHEMA_REJECTED, one a line, each with its place. */
export function refusalsOf(error: BenchError): readonly string[] {
  const happened = sentence(error.happened)
  const lines = happened.split('\n')
  return lines.length === 1 ? [`${error.who}: ${happened}`] : lines.slice(1).map((line) => line.trim())
}

/** A file of a newer format may mean other things by the same keys: its fields are not judged. */
function refuseNewer(value: unknown, door: string): void {
  if (typeof value !== 'object' || value === null || !('format' in value)) return
  const { format } = value
  if (typeof format !== 'number' || !Number.isInteger(format) || format <= FORMAT) return
  throw new BenchError('SCHEMA_FORMAT_NEWER', door, said('file.format-newer', { format, known: FORMAT }))
}

function readBytes(path: string, longest: number): Buffer {
  try {
    const { size } = statSync(path)
    if (size > longest)
      throw new BenchError('SCHEMA_REJECTED', path, said('file.too-long', { bytes: size, most: longest }))
    return readFileSync(path)
  } catch (error) {
    if (error instanceof BenchError) throw error
    throw new BenchError('SCHEMA_FILE_MISSING', path, said('file.cannot-be-read', { why: wordsOf(error) }), error)
  }
}

/** Where decoding first fails, by halving: the longest start of the bytes that decodes as the beginning of UTF-8. */
function firstBadByte(bytes: Buffer): number {
  let good = 0
  let bad = bytes.length
  while (bad - good > 1) {
    const middle = (good + bad) >> 1
    if (decodesAsStart(bytes.subarray(0, middle))) good = middle
    else bad = middle
  }
  return good
}

function decodesAsStart(bytes: Buffer): boolean {
  try {
    new TextDecoder('utf-8', { fatal: true }).decode(bytes, { stream: true })
    return true
  } catch {
    return false // the answer, not a fault
  }
}

/** More lines than this help nobody: a file of the wrong kind gives thousands. */
const MOST_LINES = 100

function refusal(door: string, lines: readonly string[]): BenchError {
  const count = lines.length === 1 ? '1 mistake' : `${lines.length} mistakes`
  const more = lines.length > MOST_LINES ? [`and ${lines.length - MOST_LINES} more`] : []
  const listed = [...lines.slice(0, MOST_LINES), ...more].map((line) => `  ${line}`)
  return new BenchError('SCHEMA_REJECTED', door, [count, ...listed].join('\n'))
}

/** The path as a person reads it: "steps > 3 (drive) > target". List entries count from 1 and show their id. */
function pathWords(path: FieldPath, value: unknown): string {
  if (path.length === 0) return sentence(said('file.whole-file'))
  const words: string[] = []
  let at: unknown = value
  for (const step of path) {
    if (typeof at !== 'object' && at !== undefined) break // one entry that stands for a list of one
    const inList = Array.isArray(at)
    at = typeof at === 'object' && at !== null ? Reflect.get(at, step) : undefined
    words.push(inList ? `${Number(step) + 1}${idWords(at)}` : String(step))
  }
  return words.join(' > ')
}

function idWords(entry: unknown): string {
  if (typeof entry !== 'object' || entry === null || !('id' in entry)) return ''
  return typeof entry.id === 'string' ? ` (${entry.id})` : ''
}
