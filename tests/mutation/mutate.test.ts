import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { acceptedMutations } from './accepted.ts'
import { mutationsOf, withMutations } from './mutate.ts'

const changes = (text: string, strings = false) =>
  mutationsOf('x.ts', text, strings).map(({ was, now }) => `${was} -> ${now}`)

describe('what is changed', () => {
  test.each([
    ['const a = b < c', ['b < c -> b <= c', 'b < c -> b >= c']],
    ['const a = b === c', ['b === c -> b !== c']],
    ['const a = b + c * d', ['b + c * d -> b - c * d', 'c * d -> c / d']],
    ["const a = b + 'volts'", []],
    ['const a = b && c', ['b && c -> b', 'b && c -> c']],
    ['const a = b ?? c', ['b ?? c -> c']],
    ['const a = !b', ['!b -> b']],
    ['const a = 0', ['0 -> 1']],
    ['const a = 5', ['5 -> 6', '5 -> 4']],
    ['const a = 0.5', ['0.5 -> 0.55', '0.5 -> 0.45']],
    ['const a = true', ['true -> false']],
    ['const a = b ? c : d', ['b ? c : d -> c', 'b ? c : d -> d']],
    ['if (a) b = c', ['a -> false', 'a -> true', 'b = c -> (nothing)']],
    ['a += b', ['a += b -> (nothing)', 'a += b -> a -= b']],
    ['await a.b()', ['await a.b() -> (nothing)']],
    ['a?.b()', ['a?.b() -> (nothing)']],
    ['const a = Math.min(b, c)', ['Math.min(b, c) -> Math.max(b, c)']],
  ])('%s', (text, expected) => {
    expect(changes(text)).toEqual(expected)
  })

  test.each([
    ["import a from './a.ts'"],
    ['type A = 5 | true'],
    ['const a: 5 = b as 5'],
    ['const a = { 5: b }'],
    ['const a = list[at] ?? 0'],
    ['const a = list.at(b)?.c ?? 0'],
    ['const a = b + 1e-9'],
    ['const a = b.toString()'],
    ['log.warn(a)'],
    ["const a = 'words'"],
  ])('%s: nothing', (text) => {
    expect(changes(text)).toEqual([])
  })

  test('texts where they are asked for, and the line is counted from 1', () => {
    expect(changes("const a = 'words'", true)).toEqual(["'words' -> ''"])
    expect(mutationsOf('x.ts', 'a\n\n  const b = c < d // µ')[0]).toMatchObject({
      line: 3,
      code: 'const b = c < d // µ',
    })
  })
})

test('with all mutations asleep a text does what it did; each, awake, does as it says, and who comes by is written down', () => {
  const text = [
    'const µ = 2',
    'let sum = 0',
    'const add = (one: number) => one < 3 && one > 0 ? one : 0',
    'for (const one of [1, 2, 3]) if (one !== 2) sum += add(one); else sum += 10 * µ',
    'const list = [sum]',
    'sum > 0 && list.push(7)',
    'globalThis.result = list',
  ].join('\n')
  const found = mutationsOf('x.ts', text).map((one, id) => ({ ...one, id }))
  const folder = mkdtempSync(join(tmpdir(), 'mutate-'))
  for (const id of [-1, ...found.keys()]) writeFileSync(join(folder, `x${id}.ts`), withMutations(text, found))
  const seen = join(folder, 'seen')
  const tries = join(folder, 'tries.mjs')
  // each in a module of its own, so that one process does for all
  writeFileSync(
    tries,
    "for (const id of process.argv.slice(3)) { process.env.MUTANT = id; globalThis.result = null; await import(process.argv[2] + '/x' + id + '.ts'); console.log(JSON.stringify(globalThis.result)) }",
  )
  const ids = [-1, ...found.map(({ id }) => id)].map(String)
  const said = execFileSync(process.execPath, ['--import', 'tsx', tries, folder, ...ids], {
    encoding: 'utf8',
    env: { ...process.env, MUTANT_SEEN: seen },
  })
  const [asleep, ...awake] = said.trim().split('\n')
  expect(asleep).toBe('[21,7]')
  const byChange = new Map(found.map(({ was, now }, at) => [`${was} -> ${now}`, awake[at]]))
  expect(byChange.get('one < 3 -> one >= 3')).toBe('[23,7]')
  expect(byChange.get('one !== 2 -> one === 2')).toBe('[42,7]')
  expect(byChange.get('10 * µ -> 10 / µ')).toBe('[6,7]')
  expect(byChange.get('sum > 0 && list.push(7) -> sum > 0')).toBe('[21]')
  expect(new Set(readFileSync(seen, 'utf8').trim().split('\n')).size).toBe(found.length)
})

test('the list of what may survive can be read, and gives a reason for each', () => {
  expect(acceptedMutations().every(({ reason }) => /^[a-z]/.test(reason))).toBe(true)
})
