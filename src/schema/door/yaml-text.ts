import {
  type Document,
  isMap,
  isNode,
  isScalar,
  isSeq,
  LineCounter,
  type Node,
  type Pair,
  parseDocument,
  type ScalarTag,
  visit,
  type YAMLMap,
} from 'yaml'
import type { FieldPath } from './field-fault.ts'

export interface Place {
  readonly line: number
  readonly column: number
}

/** A mistake in the writing itself, before any field can be judged. */
export interface TextFault {
  readonly place: Place
  readonly words: string
}

/** What the text says, and where each field of it stands. */
export interface YamlText {
  readonly value: unknown
  /** Where a key or its value stands; for what is missing, the key of the block that lacks it. */
  placeOf(path: FieldPath, at: 'key' | 'value'): Place
}

/** A number only where writing it back gives the same characters: 1.60, 007 and 1e3 stay text, so no digit of a page or serial number is lost. */
const plainNumber: ScalarTag = {
  identify: (value) => typeof value === 'number',
  default: true,
  tag: 'tag:yaml.org,2002:float',
  test: /^-?(?:0|[1-9]\d*)(?:\.\d+)?$/,
  resolve: (text) => (String(Number(text)) === text ? Number(text) : text),
}

/** Deepest nesting of brackets, and of list marks and blanks at the start of a line. People write 4; the YAML reader's stack ends at hundreds. */
const DEEPEST_BRACKETS = 32
const DEEPEST_INDENT = 100

/** Reads YAML text. Every mistake of writing is returned, in words; only without one is there a value. */
export function parseYamlText(text: string): YamlText | readonly TextFault[] {
  const deep = tooDeep(text)
  if (deep) return [{ place: deep, words: 'blocks or brackets are nested too deeply' }]
  const lines = new LineCounter()
  const document = parseDocument(text, {
    schema: 'failsafe',
    customTags: ['null', 'bool', plainNumber],
    stringKeys: true,
    uniqueKeys: false,
    prettyErrors: false,
    lineCounter: lines,
  })
  const placeAt = (offset: number): Place => {
    const { line, col } = lines.linePos(offset)
    return { line: Math.max(1, line), column: Math.max(1, col) }
  }
  const found = [...misspeltYaml(document, text), ...refusedNodes(document, (offset) => placeAt(offset).line)]
  const faults = firstOfEachLine(found.map(({ offset, words }) => ({ place: placeAt(offset), words })))
  if (faults.length > 0) return faults
  if (document.contents === null) return [{ place: { line: 1, column: 1 }, words: 'the file is empty' }]
  const pairOf = pairFinder()
  return { value: document.toJS(), placeOf: (path, at) => placeAt(offsetOf(document, path, at, pairOf)) }
}

function tooDeep(text: string): Place | null {
  let depth = 0
  for (const [index, line] of text.split('\n').entries()) {
    const indent = /^[\s?:-]*/.exec(line)?.[0].length ?? 0
    if (indent > DEEPEST_INDENT) return { line: index + 1, column: DEEPEST_INDENT }
    for (let at = 0; at < line.length; at++) {
      const sign = line[at]
      if (sign === '[' || sign === '{') depth += 1
      if (sign === ']' || sign === '}') depth = Math.max(0, depth - 1)
      if (depth > DEEPEST_BRACKETS) return { line: index + 1, column: at + 1 }
    }
  }
  return null
}

interface FaultAt {
  readonly offset: number
  readonly words: string
}

function misspeltYaml(document: Document, text: string): readonly FaultAt[] {
  const tabs = [...text.matchAll(/^ *\t/gm)].map((match) => ({
    offset: match.index + match[0].length - 1,
    words: 'a tab stands here; indent with blanks',
  }))
  const errors = document.errors.map((error) => ({
    offset: error.pos[0],
    words: wordsOfError(error.code, error.message),
  }))
  const warnings = document.warnings.map((warning) => ({
    offset: warning.pos[0],
    words: 'a word with "!" or a line with "%" in front means something else in YAML; put the text in quotation marks',
  }))
  return [...tabs, ...errors, ...warnings]
}

function wordsOfError(code: string, message: string): string {
  switch (code) {
    case 'TAB_AS_INDENT':
      return 'a tab stands here; indent with blanks'
    case 'MULTIPLE_DOCS':
      return 'a second document begins here ("---"); one file holds one'
    case 'BAD_SCALAR_START':
      return 'text that begins with this sign needs quotation marks'
    case 'BLOCK_AS_IMPLICIT_KEY':
    case 'MULTILINE_IMPLICIT_KEY':
      return 'a second colon on this line, or an indent that does not fit; put text with ": " in quotation marks'
    case 'BAD_INDENT':
      return 'the indent does not fit the lines above, or a bracket is not closed'
    case 'MISSING_CHAR':
      return 'a colon, comma, bracket or quotation mark is missing here'
    case 'UNEXPECTED_TOKEN':
      return 'a sign that has a meaning in YAML stands here; put the text in quotation marks'
    case 'NON_STRING_KEY':
      return 'a key must be a word'
    default:
      return message
  }
}

/** Anchors, aliases and keys that stand twice: legal or half-legal YAML that hides what a file says. */
function refusedNodes(document: Document, lineAt: (offset: number) => number): readonly FaultAt[] {
  const found: FaultAt[] = []
  visit(document, {
    Alias: (_key, alias) => {
      const words = `text that begins with a star needs quotation marks: "*${alias.source}"`
      found.push({ offset: alias.range?.[0] ?? 0, words })
    },
    Node: (_key, node) => {
      const words = 'text that begins with "&" needs quotation marks; anchors are not used in these files'
      if ('anchor' in node && node.anchor !== undefined) found.push({ offset: node.range?.[0] ?? 0, words })
    },
    Map: (_key, map) => {
      const firsts = new Map<string, number>()
      for (const pair of map.items) {
        const key = keyOf(pair)
        const offset = offsetOfKey(pair)
        const first = firsts.get(key)
        if (key === '__proto__') found.push({ offset, words: 'this key is not allowed' })
        if (first === undefined) firsts.set(key, offset)
        else found.push({ offset, words: `"${key}" stands twice in this block, first in line ${lineAt(first)}` })
      }
    },
  })
  return found
}

function firstOfEachLine(faults: readonly TextFault[]): readonly TextFault[] {
  const sorted = faults.toSorted((a, b) => a.place.line - b.place.line || a.place.column - b.place.column)
  return sorted.filter((fault, index) => sorted[index - 1]?.place.line !== fault.place.line)
}

function keyOf(pair: Pair): string {
  return isScalar(pair.key) ? String(pair.key.value) : String(pair.key)
}

function offsetOfKey(pair: Pair): number {
  return isNode(pair.key) ? (pair.key.range?.[0] ?? 0) : 0
}

/** A block of its own lines: its key is the better place to point at than the first line in it. */
function isBlock(node: Node | null): boolean {
  return (isMap(node) || isSeq(node)) && node.flow !== true
}

/** Finds the pair of a key; each map is gone through once, since a file of the wrong kind gives thousands of faults. */
function pairFinder(): (map: YAMLMap, key: string) => Pair | undefined {
  const known = new WeakMap<YAMLMap, ReadonlyMap<string, Pair>>()
  return (map, key) => {
    const pairs = known.get(map) ?? new Map(map.items.map((pair) => [keyOf(pair), pair] as const))
    known.set(map, pairs)
    return pairs.get(key)
  }
}

function offsetOf(
  document: Document,
  path: FieldPath,
  at: 'key' | 'value',
  pairOf: ReturnType<typeof pairFinder>,
): number {
  let node: Node | null = document.contents
  let offset = 0
  for (const [index, step] of path.entries()) {
    if (isMap(node)) {
      const pair: Pair | undefined = pairOf(node, String(step))
      if (!pair) return offset
      offset = offsetOfKey(pair)
      node = isNode(pair.value) ? pair.value : null
    } else if (isSeq(node)) {
      const item: unknown = node.items[Number(step)]
      if (!isNode(item)) return offset
      node = item
      offset = item.range?.[0] ?? offset
    } else return offset
    if (index === path.length - 1 && at === 'value' && !isBlock(node)) offset = node?.range?.[0] ?? offset
  }
  return offset
}
