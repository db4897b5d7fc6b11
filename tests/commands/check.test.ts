import { mkdtempSync, readdirSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { check, checkExit, checkFiles, checkLines } from '../../src/commands/check.ts'

const folder = mkdtempSync(join(tmpdir(), 'trimwright-check-'))
const write = (name: string, text: string) => {
  writeFileSync(join(folder, name), text)
  return join(folder, name)
}

const checked = (...paths: string[]) => {
  const files = checkFiles(paths, { drivers: 'drivers' })
  return { lines: checkLines(files).map((line) => line.replaceAll(folder, 'DIR')), exit: checkExit(files) }
}

const yamlIn = (place: string) =>
  readdirSync(place)
    .filter((name) => name.endsWith('.yaml'))
    .map((name) => join(place, name))

test.each([
  ...yamlIn('drivers'),
  ...yamlIn('procedures'),
  ...yamlIn(join('procedures', 'plans')),
  join('mocks', 'benches', 'separate.yaml'),
])('%s is right', (path) => {
  expect(checked(path)).toEqual({ lines: [`${path}: right`], exit: 0 })
})

describe('a file is known by the key that names its kind', () => {
  test.each([
    [
      'bench',
      'bench: A\ninstruments: { volts: { driver: multimeter-scpi } }',
      'DIR/bench.yaml:2:16: instruments > volts > at: is missing; expected tcp://HOST:PORT, serial:PATH?baud=9600 or simulated',
    ],
    [
      'driver',
      'format: 1\ndriver: X',
      'DIR/driver.yaml:2:9: driver: read "X"; expected small letters, digits and hyphens, for example power-meter-scpi',
    ],
    ['procedure', 'format: 1\nprocedure: A', 'DIR/procedure.yaml:1:1: set: is missing; expected a block of keys'],
    ['plan', 'format: 1\nplan: a', 'DIR/plan.yaml:1:1: title: is missing; expected text'],
  ])('%s', (kind, text, line) => {
    const { lines, exit } = checked(write(`${kind}.yaml`, text))
    expect(lines).toContain(line)
    expect(exit).toBe(1)
  })
})

test('a file of no known kind is refused with the keys that would say', () => {
  expect(checked(write('other.yaml', 'title: A'))).toEqual({
    lines: [
      'DIR/other.yaml: none of the keys that say what it is stands at its top: bench, driver, procedure, rule card, plan',
    ],
    exit: 1,
  })
})

test('of three files each is told: one right, one wrong, and the exit is 1', () => {
  const wrong = write('wrong.yaml', 'bench: A\n\tx: 1')
  expect(checked('drivers/counter-scpi.yaml', wrong)).toEqual({
    lines: ['drivers/counter-scpi.yaml: right', 'DIR/wrong.yaml:2:1: a tab stands here; indent with blanks'],
    exit: 1,
  })
})

test('a file that cannot be read makes the exit 2', () => {
  const { lines, exit } = checked('drivers/counter-scpi.yaml', join(folder, 'none.yaml'))
  expect(lines[1]).toMatch(/^DIR\/none\.yaml: cannot be read \(ENOENT/)
  expect(exit).toBe(2)
})

describe('the command', () => {
  const run = async (words: readonly string[], json = false) => {
    const out: string[] = []
    const exit = await check.run(
      { json },
      words,
      { out: (line) => out.push(line), err: () => {} },
      new AbortController().signal,
    )
    return { out, exit }
  }

  test('prints a line for each file and gives the exit', async () => {
    expect(await run(['drivers/counter-scpi.yaml'])).toEqual({ out: ['drivers/counter-scpi.yaml: right'], exit: 0 })
  })

  test('prints one object with --json', async () => {
    const { out, exit } = await run([write('json.yaml', 'plan: a\nformat: 1\nx: 1')], true)
    expect(exit).toBe(1)
    const [file] = JSON.parse(out[0] ?? '').files
    expect(file).toMatchObject({ file: join(folder, 'json.yaml'), answer: 'wrong' })
    expect(file.refusals).toContain(
      `${join(folder, 'json.yaml')}:3:1: x: unknown key; right here are: format, plan, title, source, spacing, reserved, channels`,
    )
  })

  test('without a file says how it is used', async () => {
    await expect(run([])).rejects.toMatchObject({ code: 'COMMAND_USAGE' })
  })
})
