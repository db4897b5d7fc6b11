import { z } from 'zod'
import type { Words } from '../../words/said/said.ts'
import { nearest } from './nearest.ts'

/** Keys and list places from the top of the file to the field. */
export type FieldPath = readonly PropertyKey[]

/** One thing that is wrong: where, in the keys of the file, and in words what was read and what would be right. */
export interface FieldFault {
  readonly path: FieldPath
  /** `key`: the key itself is wrong, not its value. */
  readonly at: 'key' | 'value'
  readonly words: Words
}

/** Every field that `schema` refused in `input`, in words; a missing key is left out where a misspelt one stands for it. */
export function faultsOf(error: z.ZodError, schema: z.ZodType, input: unknown): readonly FieldFault[] {
  const faults = error.issues.flatMap((issue) => faultsOfIssue(issue, [], schema, input))
  const meant = new Set(faults.map((fault) => fault.standsFor).filter((path) => path !== undefined))
  return faults.filter((fault) => !(fault.missing && meant.has(fault.path.join('\n'))))
}

interface FoundFault extends FieldFault {
  readonly missing?: boolean
  /** Path of the key that was meant, joined. */
  readonly standsFor?: string | undefined
}

type Issue = z.core.$ZodIssue

function faultsOfIssue(issue: Issue, above: FieldPath, schema: z.ZodType, input: unknown): readonly FoundFault[] {
  const path = [...above, ...issue.path]
  if (issue.code === 'unrecognized_keys')
    return issue.keys.map((key) => unknownKey(path, key, rightKeys(issue) ?? keysAt(schema, path), input))
  if (issue.code === 'invalid_union' && issue.errors.length > 0) {
    const deepest = deepestBranch(issue.errors)
    if (deepest) return deepest.flatMap((inner) => faultsOfIssue(inner, path, schema, input))
  }
  if (issue.code === 'invalid_key') return [wrongKey(path, issue.issues)]
  if (issue.code === 'custom' && !hasExpected(issue.params)) return [{ path, at: 'value', words: issue.message }]
  const value = valueAt(input, path)
  if (value === undefined)
    return [{ path, at: 'value', words: `is missing; expected ${expectedBy(issue)}`, missing: true }]
  const near =
    issue.code === 'invalid_value' && typeof value === 'string' ? nearest(value, issue.values.map(String)) : undefined
  const hint = near === undefined ? '' : `; did you mean "${near}"?`
  return [{ path, at: 'value', words: `read ${shown(value)}; expected ${expectedBy(issue)}${hint}` }]
}

function unknownKey(path: FieldPath, key: string, right: readonly string[], input: unknown): FoundFault {
  const near = nearest(key, right)
  if (!near && valueAt(input, [...path, key]) === null) return { path: [...path, key], at: 'key', words: LONE_KEY }
  const words = near
    ? `unknown key; did you mean "${near}"?`
    : `unknown key; right here are: ${right.join(', ') || 'none'}`
  return { path: [...path, key], at: 'key', words, standsFor: near && [...path, near].join('\n') }
}

/** "{ what: preset, by the heatsink }" reads as two keys, the second without a value. */
const LONE_KEY = 'unknown key without a value; text with a comma in it needs quotation marks between { and }'

/** A key of a block whose keys are names of one form. */
function wrongKey(path: FieldPath, issues: readonly Issue[]): FoundFault {
  const key = shown(path.at(-1))
  return { path, at: 'key', words: `read ${key}; expected ${issues[0] ? expectedBy(issues[0]) : 'another key'}` }
}

/** The branch of a union that was meant: the one that got furthest into the value; undefined when all failed at its door. */
function deepestBranch(branches: readonly (readonly Issue[])[]): readonly Issue[] | undefined {
  const inside = branches.filter((issues) =>
    issues.some((issue) => issue.path.length > 0 || issue.code === 'unrecognized_keys'),
  )
  return inside.sort((a, b) => a.length - b.length)[0]
}

function hasExpected(params: unknown): params is { readonly expected: string } {
  return typeof params === 'object' && params !== null && 'expected' in params && typeof params.expected === 'string'
}

const KINDS: Readonly<Record<string, string>> = {
  string: 'text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  object: 'a block of keys',
  record: 'a block of keys',
  array: 'a list',
  null: 'nothing',
}

function expectedBy(issue: Issue): string {
  switch (issue.code) {
    case 'invalid_type':
      return KINDS[issue.expected] ?? issue.expected
    case 'invalid_value':
      return issue.values.length === 1 ? String(issue.values[0]) : `one of: ${issue.values.map(String).join(', ')}`
    case 'too_small':
      return limitWords(issue.origin, issue.inclusive === false ? 'more than' : 'at least', Number(issue.minimum))
    case 'too_big':
      return limitWords(issue.origin, issue.inclusive === false ? 'less than' : 'at most', Number(issue.maximum))
    case 'invalid_union':
      return issue.errors.length === 0 ? wordsAfterExpected(issue.message) : unionWords(issue.errors)
    case 'custom':
      return hasExpected(issue.params) ? issue.params.expected : issue.message
    case 'not_multiple_of':
    case 'invalid_format':
    case 'invalid_key':
    case 'invalid_element':
    case 'unrecognized_keys':
      return wordsAfterExpected(issue.message)
  }
}

function unionWords(branches: readonly (readonly Issue[])[]): string {
  const kinds = branches.flatMap((issues) => issues.slice(0, 1).map(expectedBy))
  return [...new Set(kinds)].join(' or ')
}

function limitWords(origin: string, bound: string, limit: number): string {
  if (origin === 'string') return `${bound} ${limit} characters`
  if (origin === 'array' || origin === 'set') return `${bound} ${limit} entries`
  return `${bound} ${limit}`
}

function wordsAfterExpected(message: string): string {
  return message.replace(/^.*[Ee]xpected /, '')
}

/** What was read, short enough for a line. */
function shown(value: unknown): string {
  if (value === null) return 'nothing'
  if (Array.isArray(value)) return 'a list'
  if (typeof value === 'object') return 'a block of keys'
  const text = String(value)
  return JSON.stringify(text.length > 60 ? `${text.slice(0, 57)}...` : text)
}

function valueAt(input: unknown, path: FieldPath): unknown {
  let value = input
  for (const key of path) {
    if (typeof value !== 'object' || value === null || !Object.hasOwn(value, key)) return undefined
    value = Reflect.get(value, key)
  }
  return value
}

/** A schema that chose among shapes by a word of its own says itself which keys were right. */
function rightKeys(issue: Issue): readonly string[] | null {
  const right: unknown = Reflect.get(issue, 'right')
  return Array.isArray(right) ? right.map(String) : null
}

/** The keys that `schema` allows at `path`; empty where any key goes. */
export function keysAt(schema: z.ZodType, path: FieldPath): readonly string[] {
  let found: readonly z.core.$ZodType[] = opened(schema)
  for (const key of path) found = found.flatMap((step) => stepInto(step, key)).flatMap(opened)
  return found.flatMap((step) =>
    step instanceof z.ZodObject ? Object.keys(step.shape) : step instanceof z.ZodRecord ? recordKeys(step) : [],
  )
}

function recordKeys(record: z.ZodRecord): readonly string[] {
  const { keyType } = record
  return keyType instanceof z.ZodEnum ? keyType.options.map(String) : []
}

/** What stands inside transforms, optionals and unions. */
function opened(schema: z.core.$ZodType): readonly z.core.$ZodType[] {
  if (schema instanceof z.ZodPipe) return opened(schema.in)
  if (schema instanceof z.ZodOptional || schema instanceof z.ZodNullable || schema instanceof z.ZodDefault)
    return opened(schema.unwrap())
  if (schema instanceof z.ZodUnion || schema instanceof z.ZodDiscriminatedUnion) return schema.options.flatMap(opened)
  return [schema]
}

function stepInto(schema: z.core.$ZodType, key: PropertyKey): readonly z.core.$ZodType[] {
  if (schema instanceof z.ZodObject) {
    const field: unknown = Reflect.get(schema.shape, key)
    return field instanceof z.ZodType ? [field] : []
  }
  if (schema instanceof z.ZodRecord) return [schema.valueType]
  if (schema instanceof z.ZodArray) return [schema.element]
  return []
}
