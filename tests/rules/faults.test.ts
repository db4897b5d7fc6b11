import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { FAULTS, type FaultCode } from '../../src/fault/faults.ts'
import { ENGLISH } from '../../src/words/english/english.ts'

const root = join(import.meta.dirname, '..', '..')
const documented = new Map(
  [
    ...readFileSync(join(root, 'web', 'handbook', 'faults.md'), 'utf8').matchAll(
      /^\| `([A-Z_]+)` \| (\w+) \| (.+) \|$/gm,
    ),
  ].map((row) => [row[1] ?? '', { stops: row[2] ?? '', next: row[3] ?? '' }]),
)
const codes = Object.keys(FAULTS) as FaultCode[] // keys of a const table

function textBelow(folder: string): string {
  return readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts') && !name.endsWith('faults.ts') && !name.endsWith('faults.test.ts'))
    .map((name) => readFileSync(join(root, folder, name), 'utf8'))
    .join('\n')
}

const product = textBelow('src')
const tests = textBelow('tests')

test.each(codes)('%s stands in the handbook with what it stops and what to do', (code) => {
  expect(documented.get(code)).toEqual({ stops: FAULTS[code].stops, next: ENGLISH[FAULTS[code].next] })
})

test.each(codes)('%s has a cure of its own in the dictionary', (code) => {
  expect(FAULTS[code].next).toBe(`next.${code.toLowerCase().replaceAll('_', '-')}`)
})

test('the dictionary holds no cure of a fault that does not exist', () => {
  const cures = Object.keys(ENGLISH).filter((code) => code.startsWith('next.'))
  expect(cures.sort()).toEqual(codes.map((code) => FAULTS[code].next as string).sort())
})

test('the handbook documents no code that does not exist', () => {
  expect([...documented.keys()].filter((code) => !(code in FAULTS))).toEqual([])
})

test.each(codes)('%s is raised somewhere', (code) => {
  expect(product).toContain(`'${code}'`)
})

test.each(codes)('%s is provoked by a test', (code) => {
  expect(tests).toContain(code)
})
