import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { basename, dirname, join, normalize, relative } from 'node:path'
import { describe, expect, test } from 'vitest'
import { arrowRows } from '../kit/program/arrow-table.ts'
import { housePicture } from '../kit/program/house-picture.ts'
import { ARROWS } from './arrows.ts'

/** Outside packages with one doorway each. */
const DOORWAYS: Readonly<Record<string, string>> = {
  serialport: 'src/transport/port/serial-port.ts',
  fastify: 'src/server/http.ts',
  ws: 'src/server/live.ts',
  pino: 'src/system/log.ts',
}

/** Folders with more than 20 files, and why they have no rooms of their own. */
const CROWDED: Readonly<Record<string, string>> = {}
const MOST_FILES = 20

interface Import {
  readonly from: string
  readonly typesOnly: boolean
}

const root = join(import.meta.dirname, '..', '..')

function filesBelow(folder: string): readonly string[] {
  return readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.ts$/.test(name) && !name.startsWith('dist/'))
    .map((name) => join(folder, name))
}

const sources = [...filesBelow('src'), ...filesBelow('mocks'), ...filesBelow('web')]
const textOf = (file: string) => readFileSync(join(root, file), 'utf8')

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

/** The file that an import of another file means, from the root; null for a package. */
function targetOf(file: string, { from }: Import): string | null {
  return from.startsWith('.') ? relative(root, normalize(join(root, dirname(file), from))) : null
}

/** The room of a file: a row of its own, else that of its folder; files right under src are the program. "" where no row fits. */
function roomOf(file: string): string {
  const own = file.replace(/^src\//, '').replace(/\.ts$/, '')
  if (own in ARROWS && !existsSync(join(root, dirname(file), basename(file, '.ts')))) return own
  const folder = dirname(file).replace(/^src\//, '')
  if (folder === 'src') return 'program'
  return folder in ARROWS ? folder : ''
}

function refusalOf(file: string, one: Import): string | null {
  const room = roomOf(file)
  const { rooms, packages } = ARROWS[room] ?? { rooms: [], packages: [] }
  const target = targetOf(file, one)
  const allowed = [...rooms, ...packages].join(', ') || 'nothing'
  const refused = `${file} imports ${one.from}: ${room || 'a folder without a row in tests/rules/arrows.ts'} may import ${allowed}`
  if (target === null) return packages.includes(one.from) || coveredByNode(one.from, packages) ? null : refused
  const there = roomOf(target)
  if (room === '' || there === '') return refused
  if (there === room || (room.startsWith('web') && /\.css$/.test(one.from))) return null
  const whole = houseOf(there) === houseOf(room) ? [there] : [there, ...parentsOf(there)]
  if (whole.some((name) => rooms.includes(name))) return null
  return one.typesOnly && whole.some((name) => rooms.includes(`t:${name}`)) ? null : refused
}

function coveredByNode(name: string, packages: readonly string[]): boolean {
  return name.startsWith('node:') && packages.includes('node:*')
}

function houseOf(room: string): string {
  return room.split('/')[0] ?? room
}

/** schema for schema/files: a row that names the whole house means each of its rooms. */
function parentsOf(room: string): readonly string[] {
  const parts = room.split('/')
  return parts.slice(1).map((_, at) => parts.slice(0, at + 1).join('/'))
}

test.each(sources)('%s imports only what its room may', (file) => {
  const refused = importsOf(textOf(file))
    .map((one) => refusalOf(file, one))
    .filter(Boolean)
  expect(refused).toEqual([])
})

describe('the test itself', () => {
  test.each([
    ['src/core/settling/x.ts', "import { readFileSync } from 'node:fs'"],
    ['src/core/settling/x.ts', "import { Reading } from '../../schema/kept/reading.ts'"],
    ['src/core/settling/x.ts', "import { advance } from '../job/job.ts'"],
    ['src/core/x.ts', "import type { Reading } from '../schema/kept/reading.ts'"],
    ['mocks/x.ts', "import { readNumber } from '../src/scpi/number.ts'"],
    ['src/alignment/x.ts', "import { openBench } from '../bench/open-bench.ts'"],
    ['web/view/x.ts', "import { make } from '../draw/dom.ts'"],
  ])('refuses in %s: %s', (file, text) => {
    const [one] = importsOf(text)
    expect(one && refusalOf(file, one)).toMatch(/may import/)
  })

  test('lets core have the types of schema, and commands all of it', () => {
    const [types] = importsOf("import type { Reading } from '../../schema/kept/reading.ts'")
    expect(types && refusalOf('src/core/settling/x.ts', types)).toBeNull()
    const [values] = importsOf("import { Procedure } from '../schema/files/procedure-file.ts'")
    expect(values && refusalOf('src/commands/x.ts', values)).toBeNull()
  })

  test('finds a circle', () => {
    const arrows = { a: ['b'], b: ['c'], c: ['b'], d: ['a'] }
    expect(circlesIn(new Map(Object.entries(arrows)))).toEqual([['b', 'c']])
  })
})

/** Every set of names of which each can be reached from each other, sorted; a name that points at itself is none. */
function circlesIn(arrows: ReadonlyMap<string, readonly string[]>): readonly (readonly string[])[] {
  const reached = new Map<string, Set<string>>()
  for (const name of arrows.keys()) {
    const seen = new Set<string>()
    const waiting = [...(arrows.get(name) ?? [])]
    for (let next = waiting.pop(); next !== undefined; next = waiting.pop()) {
      if (seen.has(next)) continue
      seen.add(next)
      waiting.push(...(arrows.get(next) ?? []))
    }
    reached.set(name, seen)
  }
  const both = (one: string, other: string) => reached.get(one)?.has(other) && reached.get(other)?.has(one)
  const circles = [...arrows.keys()].map((one) => [...arrows.keys()].filter((other) => both(one, other)).toSorted())
  const found = circles.filter((circle) => circle.length > 1).map((circle) => circle.join('\n'))
  return [...new Set(found)].map((circle) => circle.split('\n'))
}

test('no circle of files in src, mocks and web, types included', () => {
  const arrows = new Map(
    sources.map((file) => [file, importsOf(textOf(file)).flatMap((one) => targetOf(file, one) ?? [])] as const),
  )
  expect(circlesIn(arrows)).toEqual([])
})

test('no circle of rooms: every arrow of the table points downward', () => {
  const names = Object.keys(ARROWS)
  const arrows = names.map((room) => {
    const named = (ARROWS[room]?.rooms ?? []).map((name) => name.replace(/^t:/, ''))
    const whole = (one: string) =>
      named.filter((name) => houseOf(name) !== houseOf(room)).some((name) => one.startsWith(`${name}/`))
    return [room, names.filter((one) => named.includes(one) || whole(one))] as const
  })
  expect(circlesIn(new Map(arrows))).toEqual([])
})

test('DEVELOPERS.md shows this table, row by row', () => {
  const page = textOf('DEVELOPERS.md').split('\n')
  const shown = page.slice(page.findIndex((line) => line.startsWith('| room | may import')) + 2)
  expect(
    shown.slice(
      0,
      shown.findIndex((line) => !line.startsWith('|')),
    ),
  ).toEqual(arrowRows())
})

test('the picture of the house is drawn from this table', () => {
  expect(textOf('web/handbook/house.svg')).toBe(housePicture())
})

test.each(Object.entries(DOORWAYS))('%s comes in by one door, %s', (name, door) => {
  const users = sources
    .filter((file) => file.startsWith('src'))
    .filter((file) => importsOf(textOf(file)).some((one) => one.from === name && !one.typesOnly))
  expect(users).toEqual([door])
})

const impure = /\b(Date\b|Math\.random|setTimeout|setInterval|setImmediate|process\.|async\b|await\b|performance\.)/

test.each(sources.filter((file) => file.startsWith('src/core/')))('%s is pure', (file) => {
  const text = textOf(file)
    .replace(/\/\*[\s\S]*?\*\//g, '')
    .replace(/\/\/.*$/gm, '')
  expect(impure.exec(text)?.[0]).toBeUndefined()
})

test.each(sources)('%s is short enough to hold one idea (400 lines)', (file) => {
  expect(textOf(file).split('\n').length).toBeLessThanOrEqual(401)
})

const folders = [...new Set(sources.map((file) => dirname(file)))]

test.each(folders)('%s has at most 20 files, or the reason stands in the table', (folder) => {
  const here = sources.filter((file) => dirname(file) === folder).map((file) => basename(file))
  if (CROWDED[folder] === undefined) expect(here.length, here.join(' ')).toBeLessThanOrEqual(MOST_FILES)
})
