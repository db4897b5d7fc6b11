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
import { said, type Words } from '../../words/said/said.ts'
import type { FieldPath } from './field-fault.ts'

export interface Place {
  readonly line: number
  readonly column: number
}

/** A mistake in the writing itself, before any field can be judged. */
export interface TextFault {
  readonly place: Place
  readonly words: Words
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
  if (deep) return [{ place: deep, words: said('file.yaml-nested') }]
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
  if (document.contents === null) return [{ place: { line: 1, column: 1 }, words: said('file.empty-file') }]
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
  readonly words: Words
}

function misspeltYaml(document: Document, text: string): readonly FaultAt[] {
  const tabs = [...text.matchAll(/^ *\t/gm)].map((match) => ({
    offset: match.index + match[0].length - 1,
    words: said('file.yaml-tab'),
  }))
  const errors = document.errors.map((error) => ({
    offset: error.pos[0],
    words: wordsOfError(error.code, error.message),
  }))
  const warnings = document.warnings.map((warning) => ({
    offset: warning.pos[0],
    words: said('file.yaml-meaning'),
  }))
  return [...tabs, ...errors, ...warnings]
}

function wordsOfError(code: string, message: string): Words {
  switch (code) {
    case 'TAB_AS_INDENT':
      return said('file.yaml-tab')
    case 'MULTIPLE_DOCS':
      return said('file.yaml-documents')
    case 'BAD_SCALAR_START':
      return said('file.yaml-quotes')
    case 'BLOCK_AS_IMPLICIT_KEY':
    case 'MULTILINE_IMPLICIT_KEY':
      return said('file.yaml-colon')
    case 'BAD_INDENT':
      return said('file.yaml-indent')
    case 'MISSING_CHAR':
      return said('file.yaml-missing')
    case 'UNEXPECTED_TOKEN':
      return said('file.yaml-sign')
    case 'NON_STRING_KEY':
      return said('file.yaml-key-word')
    default:
      return message
  }
}

/** Anchors, aliases and keys that stand twice: legal or half-legal YAML that hides what a file says. */
function refusedNodes(document: Document, lineAt: (offset: number) => number): readonly FaultAt[] {
  const found: FaultAt[] = []
  visit(document, {
    Alias: (_key, alias) => {
      const words = said('file.yaml-alias', { text: alias.source })
      found.push({ offset: alias.range?.[0] ?? 0, words })
    },
    Node: (_key, node) => {
      const words = said('file.yaml-anchor')
      if ('anchor' in node && node.anchor !== undefined) found.push({ offset: node.range?.[0] ?? 0, words })
    },
    Map: (_key, map) => {
      const firsts = new Map<string, number>()
      for (const pair of map.items) {
        const key = keyOf(pair)
        const offset = offsetOfKey(pair)
        const first = firsts.get(key)
        if (key === '__proto__') found.push({ offset, words: said('file.yaml-key-not-allowed') })
        if (first === undefined) firsts.set(key, offset)
        else found.push({ offset, words: said('file.yaml-key-twice', { key, line: lineAt(first) }) })
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
