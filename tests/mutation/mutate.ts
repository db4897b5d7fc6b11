import { parseSync } from 'vite'

/** One small change to a source: what stands there, and what stands in its place. */
export interface Mutation {
  readonly line: number
  /** Source text, shortened to one line. */
  readonly was: string
  readonly now: string
  /** The whole line, trimmed: with file name and change it names a mutation wherever the file moves to. */
  readonly code: string
  readonly site: Site
}

/** Where it stands: an expression, or a statement by itself. Both as offsets into the text. */
interface Site {
  readonly kind: 'expression' | 'statement'
  readonly start: number
  readonly end: number
  readonly text: string
}

interface Node {
  readonly type: string
  readonly start: number
  readonly end: number
  readonly [key: string]: unknown
}

const RELATIONS: Readonly<Record<string, readonly string[]>> = {
  '<': ['<=', '>='],
  '<=': ['<', '>'],
  '>': ['>=', '<='],
  '>=': ['>', '<'],
  '===': ['!=='],
  '!==': ['==='],
  '==': ['!='],
  '!=': ['=='],
}
const ARITHMETIC: Readonly<Record<string, string>> = { '+': '-', '-': '+', '*': '/', '/': '*', '%': '*', '**': '*' }
const ASSIGNING: Readonly<Record<string, string>> = { '+=': '-=', '-=': '+=', '*=': '/=', '/=': '*=', '??=': '=' }
const SWAPPED: ReadonlyMap<string, string> = new Map([
  ['min', 'max'],
  ['max', 'min'],
  ['some', 'every'],
  ['every', 'some'],
])
/** A number smaller than this makes room for rounding; a tenth more or less of it is no mutation. */
const ROUNDING = 1e-6
const LEFT_OUT: ReadonlySet<string> = new Set(
  ['Call', 'Chain', 'Await', 'Assignment', 'Update', 'Unary', 'Logical', 'Conditional', 'Binary'].map(
    (kind) => `${kind}Expression`,
  ),
)
/** What is only for people to read; no test need hold it. */
const LOGGED = /(^|\.|#)log\.(trace|debug|info|warn|error)\(/

/**
 * Every mutation of a TypeScript text, in the order of the text: operators, numbers, booleans, conditions, calls and assignments that are left out; texts
 * of their own where `strings` says so. What stands for an index that is never out of range (`list[at] ?? 0`) and what makes room for rounding (`1e-9`) is left alone. Throws for a text that does not parse.
 */
export function mutationsOf(file: string, text: string, strings = false): readonly Mutation[] {
  const { program, errors } = parseSync(file, text)
  if (errors.length > 0 || !isNode(program)) throw new TypeError(`${file}: ${errors[0]?.message ?? 'does not parse'}`)
  const found: Mutation[] = []
  const of = (node: Node) => text.slice(node.start, node.end)
  const add = (node: Node, now: string, kind: Site['kind'] = 'expression') => {
    if (found.some(({ site }) => site.start === node.start && site.end === node.end && site.text === now)) return
    const from = text.lastIndexOf('\n', node.start - 1) + 1
    const to = text.indexOf('\n', node.start)
    const code = text.slice(from, to < 0 ? undefined : to).trim()
    const line = text.slice(0, node.start).split('\n').length
    const site = { kind, start: node.start, end: node.end, text: now }
    found.push({ line, code, was: oneLine(of(node)), now: oneLine(now) || '(nothing)', site })
  }
  walk(program, (node) => {
    for (const now of changesOf(node, of, strings)) add(node, now)
    if (node.type === 'IfStatement' && isNode(node.test)) {
      add(node.test, 'false')
      add(node.test, 'true')
    }
    if (node.type === 'ExpressionStatement' && isNode(node.expression)) {
      const { expression } = node
      if (isLeftOut(expression, of)) add(node, '', 'statement')
      if (expression.type === 'AssignmentExpression') {
        const now = ASSIGNING[String(expression.operator)]
        const { left, right } = expression
        if (now && isNode(left) && isNode(right)) add(node, `${of(left)} ${now} ${of(right)}`, 'statement')
      }
    }
  })
  return found.sort((a, b) => a.site.start - b.site.start || a.site.end - b.site.end)
}

function isNode(value: unknown): value is Node {
  return typeof value === 'object' && value !== null && 'type' in value && 'start' in value
}

function childrenOf(node: Node): readonly Node[] {
  return Object.values(node).flatMap((value) => (Array.isArray(value) ? value : [value]).filter(isNode))
}

/** Types, imports, names of properties and defaults that stand for what never happens are no places to change. */
function walk(node: Node, visit: (node: Node) => void): void {
  if (node.type.startsWith('Import') && node.type !== 'ImportExpression') return
  if (node.type.startsWith('Export') && !isNode(node.declaration)) return
  if (node.type.startsWith('TS')) {
    if (isNode(node.expression)) walk(node.expression, visit)
    return
  }
  visit(node)
  const isNamed = 'key' in node && node.computed !== true
  for (const child of childrenOf(node)) {
    if (isNamed && child === node.key) continue
    if (node.operator === '??' && child === node.right && isIndexed(node.left)) continue
    walk(child, visit)
  }
}

/** `list[at]`, `list.at(-1)` and what hangs on them: undefined only for the type checker. */
function isIndexed(left: unknown): boolean {
  if (!isNode(left)) return false
  if (left.type === 'ChainExpression') return isIndexed(left.expression)
  if (left.type === 'MemberExpression') return left.computed === true || isIndexed(left.object)
  if (left.type !== 'CallExpression' || !isNode(left.callee)) return false
  const { property } = left.callee
  return isNode(property) && property.name === 'at'
}

function isLeftOut(expression: Node, of: (node: Node) => string): boolean {
  if (LOGGED.test(of(expression)) || of(expression).startsWith('super(')) return false
  return LEFT_OUT.has(expression.type)
}

function changesOf(node: Node, of: (node: Node) => string, strings: boolean): readonly string[] {
  const { left, right, argument, operator } = node
  switch (node.type) {
    case 'BinaryExpression': {
      if (!isNode(left) || !isNode(right)) return []
      const between = (other: string) => `${of(left)} ${other} ${of(right)}`
      const relations = RELATIONS[String(operator)]
      if (relations) return relations.map(between)
      const other = ARITHMETIC[String(operator)]
      return other && ![left, right].some((side) => isText(side) || isRounding(side)) ? [between(other)] : []
    }
    case 'LogicalExpression':
      if (!isNode(left) || !isNode(right)) return []
      if (operator === '??') return isIndexed(left) ? [] : [of(right)]
      return [of(left), of(right)]
    case 'UnaryExpression':
      return isNode(argument) && (operator === '!' || operator === '-') ? [of(argument)] : []
    case 'ConditionalExpression': {
      const { consequent, alternate } = node
      return isNode(consequent) && isNode(alternate) ? [of(consequent), of(alternate)] : []
    }
    case 'Literal':
      return literals(node, strings)
    case 'CallExpression':
      return swapped(node, of)
    default:
      return []
  }
}

function literals(node: Node, strings: boolean): readonly string[] {
  const { value, raw } = node
  if (typeof value === 'boolean') return [String(!value)]
  if (typeof value === 'string') return strings && value !== '' ? ["''"] : []
  if (typeof value !== 'number' || typeof raw !== 'string') return []
  if (isRounding(node)) return []
  if (Number.isInteger(value)) return value === 0 ? ['1'] : [String(value + 1), String(value - 1)]
  return [1.1, 0.9].map((share) => String(Number((value * share).toPrecision(12))))
}

function swapped(node: Node, of: (node: Node) => string): readonly string[] {
  const { callee } = node
  if (!isNode(callee) || callee.type !== 'MemberExpression') return []
  const { property } = callee
  const other = isNode(property) ? SWAPPED.get(String(property.name)) : undefined
  if (!other || !isNode(property)) return []
  const whole = of(node)
  const from = property.start - node.start
  return [`${whole.slice(0, from)}${other}${whole.slice(property.end - node.start)}`]
}

function isRounding({ type, value }: Node): boolean {
  return type === 'Literal' && typeof value === 'number' && value !== 0 && value < ROUNDING
}

function isText(node: Node): boolean {
  if (node.type === 'TemplateLiteral') return true
  if (node.type === 'BinaryExpression')
    return (isNode(node.left) && isText(node.left)) || (isNode(node.right) && isText(node.right))
  return node.type === 'Literal' && typeof node.value === 'string'
}

function oneLine(text: string): string {
  const line = text.replace(/\s+/g, ' ').trim()
  return line.length > 90 ? `${line.slice(0, 87)}...` : line
}

/**
 * The text with all of these mutations in it, each asleep until the environment names its number in MUTANT. Where MUTANT_SEEN names a file, the number of each
 * place that is come by is added to it.
 */
export function withMutations(text: string, chosen: readonly { readonly id: number; readonly site: Site }[]): string {
  const places = new Map<string, { readonly site: Site; readonly ids: { id: number; text: string }[] }>()
  for (const { id, site } of chosen) {
    const key = `${site.kind} ${site.start} ${site.end}`
    const place = places.get(key) ?? { site, ids: [] }
    place.ids.push({ id, text: site.text })
    places.set(key, place)
  }
  const sorted = [...places.values()].sort(
    (a, b) => a.site.start - b.site.start || b.site.end - a.site.end || (a.site.kind === 'statement' ? -1 : 1),
  )
  let next = 0
  const upTo = (from: number, to: number): string => {
    let done = ''
    let at = from
    for (let place = sorted[next]; place && place.site.end <= to && place.site.start >= at; place = sorted[next]) {
      next += 1
      const { site, ids } = place
      done += text.slice(at, site.start)
      const inner = upTo(site.start, site.end)
      done +=
        site.kind === 'statement'
          ? `{${ids.map((one) => `if($mutant(${one.id})){${one.text}}else `).join('')}{${inner};}}`
          : `(${ids.map((one) => `$mutant(${one.id})?(${one.text}):`).join('')}${inner})`
      at = site.end
    }
    return done + text.slice(at, to)
  }
  const body = upTo(0, text.length)
  return text.startsWith('#!') ? body.replace('\n', `\n${SWITCH}`) : SWITCH + body
}

const SWITCH =
  "import{appendFileSync as $append}from'node:fs';const $seen=process.env.MUTANT_SEEN,$known=new Set(),$on=Number(process.env.MUTANT??-1);" +
  'function $mutant(id){if($seen&&!$known.has(id)){$known.add(id);$append($seen,id+"\\n")}return id===$on}'
