import { readdirSync, readFileSync } from 'node:fs'
import { dirname, join, normalize, relative, sep } from 'node:path'
import { describe, expect, test } from 'vitest'

/** What each folder may import: `t:` types only, `node:*` named where a folder does I/O. The same table stands in DEVELOPERS.md. */
const ARROWS: Readonly<Record<string, readonly string[]>> = {
  fault: [],
  quantity: [],
  system: ['fault', 'pino', 'node:os'],
  schema: ['fault', 'quantity', 'zod', 'yaml', 'node:fs'],
  core: ['fault', 'quantity', 't:schema'],
  scpi: ['fault', 't:schema'],
  transport: ['fault', 't:system', 'serialport', '@serialport/parser-readline', 'node:net'],
  instrument: ['fault', 'quantity', 'schema', 'scpi', 'transport', 't:system', 'node:path', 'node:url', 'node:fs'],
  keeper: [
    'fault',
    'quantity',
    'schema',
    'scpi',
    'transport',
    'instrument',
    't:system',
    'node:child_process',
    'node:crypto',
    'node:net',
    'node:os',
    'node:fs',
    'node:path',
    'node:url',
    'node:readline',
    'node:stream',
  ],
  bench: ['fault', 'quantity', 'schema', 'scpi', 'instrument', 'transport', 't:keeper', 't:system'],
  alignment: ['fault', 'quantity', 'schema', 'core', 't:bench', 't:record', 't:system'],
  record: [
    'fault',
    'quantity',
    'schema',
    'core',
    't:system',
    'jose',
    'node:crypto',
    'node:fs',
    'node:fs/promises',
    'node:path',
  ],
  course: [
    'fault',
    'schema',
    'core',
    'transport',
    't:keeper',
    't:alignment',
    't:system',
    'node:crypto',
    'node:fs',
    'node:fs/promises',
    'node:path',
    'node:util',
    'node:zlib',
  ],
  recording: ['fault', 'schema', 'core', 'record', 'instrument', 't:alignment', 't:bench', 't:system', 'node:*'],
  server: [
    'fault',
    'quantity',
    'schema',
    't:alignment',
    'record',
    't:bench',
    't:system',
    'fastify',
    '@fastify/static',
    'ws',
    'node:*',
  ],
  commands: [
    'fault',
    'quantity',
    'schema',
    'core',
    'scpi',
    'transport',
    'instrument',
    'keeper',
    'bench',
    'alignment',
    'record',
    'recording',
    'course',
    'server',
    'system',
    'mocks',
    'node:*',
  ],
  mocks: ['fault', 'quantity', 'system', 't:schema', 'fastify', 'ws', 'node:*'],
  web: ['t:schema', 'quantity', 'uplot', 'marked', 'node:fs', 'node:path'],
}

/** Outside packages with one doorway each. */
const DOORWAYS: Readonly<Record<string, string>> = {
  serialport: 'src/transport/serial-port.ts',
  fastify: 'src/server/http.ts',
  ws: 'src/server/live.ts',
  pino: 'src/system/log.ts',
}

interface Import {
  readonly from: string
  readonly typesOnly: boolean
}

const root = join(import.meta.dirname, '..', '..')

function filesBelow(folder: string): readonly string[] {
  return readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.ts$/.test(name) && !name.includes(`dist${sep}`))
    .map((name) => join(folder, name))
}

const sources = [...filesBelow('src'), ...filesBelow('mocks'), ...filesBelow('web')]

function importsOf(text: string): readonly Import[] {
  const bare = text.replace(/\/\*[\s\S]*?\*\//g, '').replace(/^\s*\/\/.*$/gm, '')
  const found: Import[] = []
  for (const match of bare.matchAll(/\b(import|export)\s+(type\s+)?([^'"`;]*?)\s*from\s*['"]([^'"]+)['"]/g)) {
    const names = match[3] ?? ''
    const each =
      /^\{(.*)\}$/s
        .exec(names.trim())?.[1]
        ?.split(',')
        .map((name) => name.trim())
        .filter(Boolean) ?? []
    const allTypes = each.length > 0 && each.every((name) => name.startsWith('type '))
    found.push({ from: match[4] ?? '', typesOnly: match[2] !== undefined || allTypes })
  }
  for (const match of bare.matchAll(/\bimport\s*\(\s*['"]([^'"]+)['"]\s*\)|\bimport\s+['"]([^'"]+)['"]/g))
    found.push({ from: match[1] ?? match[2] ?? '', typesOnly: false })
  return found
}

/** The room a file is in: its folder under src, or mocks, or web; files right under src are commands. */
function roomOf(file: string): string {
  const [top = '', second = '', third] = file.split(sep)
  if (top !== 'src') return top
  return third === undefined ? 'commands' : second
}

function refusalOf(file: string, { from, typesOnly }: Import): string | null {
  const room = roomOf(file)
  const allowed = ARROWS[room] ?? []
  const target = from.startsWith('.') ? roomOf(relative(root, normalize(join(root, dirname(file), from)))) : from
  if (target === room) return null
  if (room === 'web' && /\.css$/.test(from)) return null
  const named = target.startsWith('node:') ? [target, 'node:*'] : [target]
  if (named.some((name) => allowed.includes(name))) return null
  if (typesOnly && allowed.includes(`t:${target}`)) return null
  return `${file} imports ${from}: ${room} may import ${allowed.join(', ') || 'nothing'}`
}

test.each(sources)('%s imports only what its room may', (file) => {
  const refused = importsOf(readFileSync(join(root, file), 'utf8'))
    .map((one) => refusalOf(file, one))
    .filter(Boolean)
  expect(refused).toEqual([])
})

describe('the test itself', () => {
  test.each([
    ['src/core/x.ts', "import { readFileSync } from 'node:fs'"],
    ['src/core/x.ts', "import { Reading } from '../schema/reading.ts'"],
    ['mocks/x.ts', "import { readNumber } from '../src/scpi/number.ts'"],
    ['src/alignment/x.ts', "import { openBench } from '../bench/open-bench.ts'"],
  ])('refuses in %s: %s', (file, text) => {
    const [one] = importsOf(text)
    expect(one && refusalOf(file, one)).toMatch(/may import/)
  })

  test('lets core have the types of schema', () => {
    const [one] = importsOf("import type { Reading } from '../schema/reading.ts'")
    expect(one && refusalOf('src/core/x.ts', one)).toBeNull()
  })
})

test.each(Object.entries(DOORWAYS))('%s comes in by one door, %s', (name, door) => {
  const users = sources
    .filter((file) => file.startsWith('src'))
    .filter((file) =>
      importsOf(readFileSync(join(root, file), 'utf8')).some((one) => one.from === name && !one.typesOnly),
    )
  expect(users).toEqual([door])
})

const impure = /\b(Date\b|Math\.random|setTimeout|setInterval|setImmediate|process\.|async\b|await\b|performance\.)/

test.each(sources.filter((file) => roomOf(file) === 'core'))('%s is pure', (file) => {
  const text = readFileSync(join(root, file), 'utf8')
    .replace(/\/\*[\s\S]*?\*\//g, '')
    .replace(/\/\/.*$/gm, '')
  expect(impure.exec(text)?.[0]).toBeUndefined()
})

test.each(sources)('%s is short enough to hold one idea (400 lines)', (file) => {
  expect(readFileSync(join(root, file), 'utf8').split('\n').length).toBeLessThanOrEqual(401)
})
