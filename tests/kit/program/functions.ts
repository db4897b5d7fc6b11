import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { parseSync } from 'vite'

const ROOT = join(import.meta.dirname, '..', '..', '..')

/** A function as it stands in a source file: the line of its head, and how many lines it has from there to its closing brace. */
export interface FunctionFound {
  readonly name: string
  readonly line: number
  readonly lines: number
}

interface Node {
  readonly type: string
  readonly start: number
  readonly end: number
  readonly [key: string]: unknown
}

const FUNCTIONS: ReadonlySet<string> = new Set(['FunctionDeclaration', 'FunctionExpression', 'ArrowFunctionExpression'])
/** What gives a function without a name of its own its name and its head. */
const NAMED: ReadonlySet<string> = new Set(['VariableDeclarator', 'Property', 'MethodDefinition', 'PropertyDefinition'])

/** Every function of a TypeScript file of the project, the ones inside others too, in the order of the text. */
export function functionsOf(file: string): readonly FunctionFound[] {
  return functionsIn(file, readFileSync(join(ROOT, file), 'utf8'))
}

/** The same of a text. Throws for one that does not parse. */
export function functionsIn(file: string, text: string): readonly FunctionFound[] {
  const { program, errors } = parseSync(file, text)
  if (errors.length > 0 || !isNode(program)) throw new TypeError(`${file}: ${errors[0]?.message ?? 'does not parse'}`)
  const lineAt = lineCounter(text)
  const found: FunctionFound[] = []
  const walk = (node: Node, parent: Node | null) => {
    if (FUNCTIONS.has(node.type)) {
      const named = parent && NAMED.has(parent.type) ? parent : null
      const line = lineAt((named ?? node).start)
      found.push({ name: nameOf(node.id ?? named?.id ?? named?.key), line, lines: lineAt(node.end) - line + 1 })
    }
    for (const child of childrenOf(node)) walk(child, node)
  }
  walk(program, null)
  return found
}

function isNode(value: unknown): value is Node {
  return typeof value === 'object' && value !== null && 'type' in value && 'start' in value
}

function childrenOf(node: Node): readonly Node[] {
  return Object.values(node).flatMap((value) => (Array.isArray(value) ? value : [value]).filter(isNode))
}

function nameOf(id: unknown): string {
  return isNode(id) && typeof id.name === 'string' ? id.name : '(nameless)'
}

/** Line of an offset, from 1. */
function lineCounter(text: string): (offset: number) => number {
  const ends = [...text.matchAll(/\n/g)].map((match) => match.index)
  return (offset) => {
    let low = 0
    let high = ends.length
    while (low < high) {
      const middle = (low + high) >> 1
      if ((ends[middle] ?? 0) < offset) low = middle + 1
      else high = middle
    }
    return low + 1
  }
}
