import { z } from 'zod'
import { isSaid, type Said, said, sameWords, type Words } from '../../words/said/said.ts'
import { wordsIn } from './in-message.ts'
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
  if (issue.code === 'custom' && !hasExpected(issue.params))
    return [{ path, at: 'value', words: wordsIn(issue.message) }]
  const value = valueAt(input, path)
  if (value === undefined)
    return [{ path, at: 'value', words: said('file.missing', { expected: expectedBy(issue) }), missing: true }]
  const near =
    issue.code === 'invalid_value' && typeof value === 'string' ? nearest(value, issue.values.map(String)) : undefined
  const places = { read: shown(value), expected: expectedBy(issue) }
  const words = near === undefined ? said('file.read', places) : said('file.read-near', { ...places, near })
  return [{ path, at: 'value', words }]
}

function unknownKey(path: FieldPath, key: string, right: readonly string[], input: unknown): FoundFault {
  const near = nearest(key, right)
  if (!near && valueAt(input, [...path, key]) === null) return { path: [...path, key], at: 'key', words: LONE_KEY }
  const known = right.length === 0 ? said('file.key-none-right') : said('file.key-right-here', { keys: right })
  const words = near ? said('file.key-near', { near }) : known
  return { path: [...path, key], at: 'key', words, standsFor: near && [...path, near].join('\n') }
}

/** "{ what: preset, by the heatsink }" reads as two keys, the second without a value. */
const LONE_KEY = said('file.key-lone', { open: '{', close: '}' })

/** A key of a block whose keys are names of one form. */
function wrongKey(path: FieldPath, issues: readonly Issue[]): FoundFault {
  const [first] = issues
  const expected = first ? expectedBy(first) : said('file.expected-another-key')
  return { path, at: 'key', words: said('file.read', { read: shown(path.at(-1)), expected }) }
}

/** The branch of a union that was meant: the one that got furthest into the value; undefined when all failed at its door. */
function deepestBranch(branches: readonly (readonly Issue[])[]): readonly Issue[] | undefined {
  const inside = branches.filter((issues) =>
    issues.some((issue) => issue.path.length > 0 || issue.code === 'unrecognized_keys'),
  )
  return inside.sort((a, b) => a.length - b.length)[0]
}

function hasExpected(params: unknown): params is { readonly expected: Words } {
  if (typeof params !== 'object' || params === null || !('expected' in params)) return false
  return typeof params.expected === 'string' || isSaid(params.expected)
}

const KINDS: Readonly<Record<string, Words>> = {
  string: said('file.expected-text'),
  number: said('file.expected-number'),
  int: said('file.expected-whole'),
  boolean: said('file.expected-true-false'),
  object: said('file.expected-block'),
  record: said('file.expected-block'),
  array: said('file.expected-list'),
  null: said('file.expected-nothing'),
}

function expectedBy(issue: Issue): Words {
  switch (issue.code) {
    case 'invalid_type':
      return KINDS[issue.expected] ?? issue.expected
    case 'invalid_value':
      return issue.values.length === 1
        ? String(issue.values[0])
        : said('file.expected-one-of', { options: issue.values.map(String) })
    case 'too_small':
      return limitWords(issue.origin, issue.inclusive === false ? 'more-than' : 'at-least', Number(issue.minimum))
    case 'too_big':
      return limitWords(issue.origin, issue.inclusive === false ? 'less-than' : 'at-most', Number(issue.maximum))
    case 'invalid_union':
      return issue.errors.length === 0 ? wordsAfterExpected(issue.message) : unionWords(issue.errors)
    case 'custom':
      return hasExpected(issue.params) ? issue.params.expected : wordsIn(issue.message)
    case 'not_multiple_of':
    case 'invalid_format':
    case 'invalid_key':
    case 'invalid_element':
    case 'unrecognized_keys':
      return wordsAfterExpected(issue.message)
  }
}

function unionWords(branches: readonly (readonly Issue[])[]): Words {
  const kinds = branches.flatMap((issues) => issues.slice(0, 1).map(expectedBy))
  const each = kinds.filter((kind, at) => kinds.findIndex((one) => sameWords(one, kind)) === at)
  return each.reduce((some, more) => said('file.expected-or', { some, more }))
}

type Bound = 'more-than' | 'at-least' | 'less-than' | 'at-most'

function limitWords(origin: string, bound: Bound, limit: number): Said {
  if (origin === 'string') return said(`file.${bound}-characters`, { limit })
  if (origin === 'array' || origin === 'set') return said(`file.${bound}-entries`, { limit })
  return said(`file.${bound}`, { limit })
}

/** The library's own words of what it expected; a sentence is one already. */
function wordsAfterExpected(message: string): Words {
  const words = wordsIn(message)
  return typeof words === 'string' ? words.replace(/^.*[Ee]xpected /, '') : words
}

/** What was read, short enough for a line. */
function shown(value: unknown): Words {
  if (value === null) return said('file.expected-nothing')
  if (Array.isArray(value)) return said('file.expected-list')
  if (typeof value === 'object') return said('file.expected-block')
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
