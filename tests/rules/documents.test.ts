import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { readYamlText } from '../../src/schema/door/yaml-door.ts'
import { Procedure } from '../../src/schema/files/procedure-file.ts'

const root = join(import.meta.dirname, '..', '..')
const pages = ['README.md', 'DEVELOPERS.md']
const text = (page: string) => readFileSync(join(root, page), 'utf8')

const named = pages.flatMap((page) =>
  [...text(page).matchAll(/`((?:src|drivers|procedures|tests|mocks|web|\.ci)\/[\w./-]*)`/g)].map((match) => [
    page,
    match[1] ?? '',
  ]),
)

test.each(named)('%s names %s, which exists', (_page, path) => {
  expect(existsSync(join(root, path ?? ''))).toBe(true)
})

test('the README opens with the job and names the two commands', () => {
  expect(text('README.md')).toContain('npm install && npm start')
  expect(text('README.md')).toContain('npm install && npm test')
})

const examples = pages.flatMap((page) =>
  [...text(page).matchAll(/```yaml\n(procedure:[\s\S]*?|format: 1\nprocedure:[\s\S]*?)```/g)].map((match) => [
    page,
    match[1] ?? '',
  ]),
)

test('the README shows a procedure', () => {
  expect(examples.length).toBeGreaterThan(0)
})

test.each(examples)('the procedure shown in %s is right', (page, yaml) => {
  expect(readYamlText(yaml ?? '', page ?? '', Procedure).steps.length).toBeGreaterThan(0)
})
