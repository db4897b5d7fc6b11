import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { dirname, join, relative } from 'node:path'

/** Every file below a folder, by its path from `home`, without node_modules and hidden ones. */
export function filesBelow(home: string, folder: string): readonly string[] {
  return readdirSync(join(home, folder), { withFileTypes: true }).flatMap((entry) => {
    if (entry.name.startsWith('.') || entry.name === 'node_modules') return []
    const path = join(folder, entry.name)
    return entry.isDirectory() ? filesBelow(home, path) : [path]
  })
}

/** How many imports lie between a test and each source that it comes by: 0 itself, 1 what it imports. Types included: it does not matter here. */
export type Distances = ReadonlyMap<string, number>

const IMPORTED = /(?:from|import)\s*\(?\s*'(\.[^']+)'/g
/** A script that a test starts as a process is named by its file name alone. */
const NAMED = /'([\w-]+\.(?:ts|cjs))'/g
const STARTED_IN = ['tests/kit', 'src', 'mocks']

/** What each test file reaches, by the import graph and by the scripts that it starts. */
export function reachOf(home: string, tests: readonly string[]): ReadonlyMap<string, Distances> {
  const known = new Map<string, readonly string[]>()
  const neighbours = (file: string): readonly string[] => {
    const before = known.get(file)
    if (before) return before
    const text = readFileSync(join(home, file), 'utf8')
    const folder = dirname(file)
    const imported = [...text.matchAll(IMPORTED)].map(([, path = '']) => join(folder, path))
    const started = [...text.matchAll(NAMED)].flatMap(([, name = '']) =>
      [folder, ...STARTED_IN].map((place) => join(place, name)),
    )
    const there = [...new Set([...imported, ...started])].filter(
      (path) => /\.(ts|cjs)$/.test(path) && existsSync(join(home, path)),
    )
    known.set(file, there)
    return there
  }
  return new Map(
    tests.map((test) => {
      const far = new Map([[test, 0]])
      for (const [file, distance] of far)
        for (const next of neighbours(file)) if (!far.has(next)) far.set(next, distance + 1)
      return [relative('', test), far]
    }),
  )
}
