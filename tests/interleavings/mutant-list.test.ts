import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { MUTANTS } from './mutant-list.ts'

const ROOT = join(import.meta.dirname, '..', '..')
const edits = MUTANTS.flatMap(({ item, cure, edits: all }) => all.map((edit) => [`${item}: ${cure}`, edit] as const))

test.each(edits)('%s: the edit that takes it out fits one place of its file', (_cure, { file, text }) => {
  expect(readFileSync(join(ROOT, file), 'utf8').split(text)).toHaveLength(2)
})

test('every fault of the list has a cure that can be taken out', () => {
  const items = new Set(MUTANTS.map(({ item }) => item))
  for (const item of [1, 2, 3, 4, 5, 6] as const) expect(items.has(item)).toBe(true)
})
