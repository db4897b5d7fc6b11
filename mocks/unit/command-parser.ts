/** One unit of a program message: a header, and the parameters as they were written. */
export interface MessageUnit {
  readonly header: string
  readonly query: boolean
  readonly parameters: readonly string[]
}

/** What could not be taken: a SCPI-1999 error number (volume 2, chapter 21). */
export type Parse<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly error: number }

/** Splits a program message at its semicolons, quoted ones left alone; a string without its end is -151. */
export function splitMessage(message: string): Parse<readonly string[]> {
  return splitOutsideQuotes(message, ';')
}

/** Reads one unit: header, question mark, parameters (IEEE 488.2, 7.3.2). Errors -101, -102, -103, -111, -112, -151. */
export function parseUnit(text: string): Parse<MessageUnit> {
  const trimmed = text.trim()
  const found = HEADER.exec(trimmed)
  const header = found?.[1]
  if (found === null || header === undefined) return refused(/^[:*A-Za-z]/.test(trimmed) ? -102 : -101)
  const rest = trimmed.slice(found[0].length)
  if (rest !== '' && !/^\s/.test(rest)) return refused(-111)
  if (header.split(':').some((mnemonic) => mnemonic.length > LONGEST_MNEMONIC)) return refused(-112)
  const parameters = rest.trim() === '' ? { ok: true as const, value: [] } : splitOutsideQuotes(rest, ',')
  if (!parameters.ok) return parameters
  const each = parameters.value.map((one) => one.trim())
  if (each.some((one) => one === '')) return refused(-103)
  return { ok: true, value: { header, query: found[2] === '?', parameters: each } }
}

const HEADER = /^(\*[A-Za-z]+|:?[A-Za-z][A-Za-z0-9_]*(?::[A-Za-z][A-Za-z0-9_]*)*)(\?)?/
const LONGEST_MNEMONIC = 12

/**
 * Walks the tree (SCPI-1999, volume 1, 6.2.4): a header starts where the one before it ended, less its last mnemonic;
 * a leading colon goes back to the root; a common command leaves the path alone. Returns the whole header and the next path.
 */
export function walkTree(path: string, header: string): { readonly header: string; readonly path: string } {
  if (header.startsWith('*')) return { header, path }
  const whole = header.startsWith(':') ? header.slice(1) : path === '' ? header : `${path}:${header}`
  const cut = whole.lastIndexOf(':')
  return { header: whole, path: cut < 0 ? '' : whole.slice(0, cut) }
}

interface PatternNode {
  readonly short: string
  readonly long: string
  readonly optional: boolean
  /** 'any': the pattern ends in #; a number: only that suffix, and a missing one counts as 1. */
  readonly suffix: 'any' | number
}

/** A header pattern such as `MEASure[:SCALar]:VOLTage[:DC]?`: upper case is the short form, [..] may be left out, # takes any number. */
export interface HeaderPattern {
  readonly text: string
  readonly query: boolean
  readonly common: string | null
  readonly nodes: readonly PatternNode[]
}

/** Compiles a header pattern once; TypeError for a pattern that is not one. */
export function compilePattern(text: string): HeaderPattern {
  const query = text.endsWith('?')
  const body = query ? text.slice(0, -1) : text
  if (body.startsWith('*')) return { text, query, common: body.toUpperCase(), nodes: [] }
  const nodes: PatternNode[] = []
  let rest = body
  while (rest !== '') {
    const found = NODE.exec(rest)
    const name = found?.[2] ?? found?.[5]
    if (!found || name === undefined) throw new TypeError(`not a header pattern: ${text}`)
    const short = name.replace(/[^A-Z]/g, '')
    const number = found[3] ?? found[6] ?? ''
    nodes.push({
      short,
      long: name.toUpperCase(),
      optional: found[1] !== undefined,
      suffix: number === '#' ? 'any' : number === '' ? 1 : Number(number),
    })
    rest = rest.slice(found[0].length)
  }
  return { text, query, common: null, nodes }
}

const NODE = /^(?:(\[):?([A-Za-z]+)(#|\d+)?\]|(:?)([A-Za-z]+)(#|\d+)?)/

/** Whether a whole header (with its question mark) is the one of the pattern: exact short or exact long form, any case. */
export function headerFits(pattern: HeaderPattern, header: string): boolean {
  const query = header.endsWith('?')
  if (query !== pattern.query) return false
  const body = (query ? header.slice(0, -1) : header).toUpperCase()
  if (pattern.common !== null) return body === pattern.common
  if (body.startsWith('*')) return false
  return nodesFit(pattern.nodes, (body.startsWith(':') ? body.slice(1) : body).split(':'))
}

function nodesFit(nodes: readonly PatternNode[], words: readonly string[]): boolean {
  const [node, ...otherNodes] = nodes
  if (!node) return words.length === 0
  const [word, ...otherWords] = words
  if (word !== undefined && wordFits(node, word) && nodesFit(otherNodes, otherWords)) return true
  return node.optional && nodesFit(otherNodes, words)
}

function wordFits(node: PatternNode, word: string): boolean {
  const found = /^([A-Z_]+)(\d*)$/.exec(word)
  if (!found || (found[1] !== node.short && found[1] !== node.long)) return false
  return node.suffix === 'any' || (found[2] === '' ? 1 : Number(found[2])) === node.suffix
}

function splitOutsideQuotes(text: string, separator: string): Parse<readonly string[]> {
  const parts: string[] = []
  let quote = ''
  let part = ''
  for (const letter of text) {
    if (quote !== '') {
      if (letter === quote) quote = ''
    } else if (letter === '"' || letter === "'") {
      quote = letter
    } else if (letter === separator) {
      parts.push(part)
      part = ''
      continue
    }
    part += letter
  }
  if (quote !== '') return refused(-151)
  parts.push(part)
  return { ok: true, value: parts }
}

function refused(error: number): { readonly ok: false; readonly error: number } {
  return { ok: false, error }
}
