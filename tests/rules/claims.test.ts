import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from 'vitest'

const root = join(import.meta.dirname, '..', '..')
const read = (path: string) => readFileSync(join(root, path), 'utf8')

const files = ['README.md', 'DEVELOPERS.md'].concat(
  ['src', 'web', 'mocks', 'drivers', 'procedures', 'tests'].flatMap((folder) =>
    readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
      .filter((name) => /\.(ts|cjs|md|yaml|json|csv)$/.test(name) && !/(^|\/)(dist|node_modules)\//.test(name))
      .map((name) => `${folder}/${name}`)
      .filter((name) => name !== 'tests/rules/claims.test.ts'),
  ),
)

/** What a reader could not follow: numbers of an index, pages that nobody names, notes that lie elsewhere. */
const NOWHERE =
  /stored (?:files?|page|handbook)\b|stored instrument|(?:brand|address) withheld|practice notes|training notes/i

test('a source that no reader could find is noticed', () => {
  expect('READ: stored file 1234').toMatch(NOWHERE)
  expect('the technician of the practice notes').toMatch(NOWHERE)
  expect('MEMORY (common practice)').not.toMatch(NOWHERE)
})

test('no file names a source that nobody could find', () => {
  expect(files.length).toBeGreaterThan(500)
  expect(files.filter((file) => NOWHERE.test(read(file)))).toEqual([])
})

const references = readdirSync(join(root, 'tests', 'reference')).filter((name) => /\.(csv|json)$/.test(name))

test.each(references)('tests/reference/%s says in itself how its values were come by', (name) => {
  expect(read(`tests/reference/${name}`)).toMatch(/\b(READ|COMPUTED|MEMORY)\b/)
})

const drivers = readdirSync(join(root, 'drivers')).filter((name) => name.endsWith('.yaml'))
const standards = drivers.filter((name) => read(`drivers/${name}`).includes('manual: "SCPI 1999'))

test.each(standards)('drivers/%s says that the text of its standard was not had, and what was used', (name) => {
  expect(read(`drivers/${name}`)).toMatch(/were not had[\s\S]*MEMORY[\s\S]*\bread in/)
})

test('there are such drivers', () => expect(standards.length).toBeGreaterThan(4))
