import { mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { check, checkExit, checkFiles, checkLines } from '../../src/commands/check.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'

const folder = mkdtempSync(join(tmpdir(), 'trimwright-check-'))
const write = (name: string, text: string) => {
  writeFileSync(join(folder, name), text)
  return join(folder, name)
}

const checked = (...paths: string[]) => {
  const files = checkFiles(paths, { drivers: 'drivers', procedures: 'procedures', today: '2026-11-02' })
  return { lines: checkLines(files).map((line) => sentence(line).replaceAll(folder, 'DIR')), exit: checkExit(files) }
}

const yamlIn = (place: string) =>
  readdirSync(place)
    .filter((name) => name.endsWith('.yaml'))
    .map((name) => join(place, name))

const PLAIN = join('drivers', 'supply-plain-scpi.yaml')

test.each([
  ...yamlIn('drivers').filter((path) => path !== PLAIN),
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

test('a driver that selects its output at the start alone is refused, and with "select" is right', () => {
  const supply = readFileSync(join('drivers', 'supply-scpi.yaml'), 'utf8')
  const [start, select] = [`${supply}start: ["SYST:REM", "INST:NSEL 2"]\n`, `${supply}select: "INST:NSEL 2"\n`]
  const { lines, exit } = checked(write('start.yaml', start))
  expect(lines).toEqual([
    expect.stringMatching(
      /^DIR\/start\.yaml:\d+:8: start: chooses the output at the start only, .*: write it as "select:"/,
    ),
  ])
  expect(exit).toBe(1)
  expect(checked(write('select.yaml', select))).toEqual({ lines: ['DIR/select.yaml: right'], exit: 0 })
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

describe('a supply without an over-voltage trip', () => {
  const NOTE = 'A job leaves out the steps above the normal voltage, unless'
  const bench = (supply: string) =>
    write(
      'no-trip.yaml',
      `bench: A\ninstruments:\n  supply:\n    { driver: supply-plain-scpi, at: "tcp://h:1", limits: { voltage: 16.5 V, current: 4 A }${supply} }\n`,
    )
  const crowbar = (volts: string, tried = '2026-09-01') =>
    bench(`,\n      crowbar: { trips at: ${volts}, tried: ${tried} }`)
  const sheet = join('procedures', 'brackwater-27m-transmit.yaml')
  const wanted = (volts: string, file: string) =>
    `${volts} does not serve ${file}: it must trip above 16.00 V and at most 16.50 V ("never above" and "trip" of the sheet); set it so, try it and write both here, or leave the steps above normal out`

  test('its driver is right, with a note', () => {
    expect(checked(PLAIN)).toEqual({
      lines: [
        `${PLAIN}: right`,
        `${PLAIN}:6:1: settings: note: there is no row "over-voltage trip". ${NOTE} the bench file names a crowbar`,
      ],
      exit: 0,
    })
  })

  test('a bench with it is right, with a note at the supply that says how a crowbar is named', () => {
    expect(checked(bench(''))).toEqual({
      lines: [
        'DIR/no-trip.yaml: right',
        `DIR/no-trip.yaml:3:3: instruments > supply: note: supply-plain-scpi has no over-voltage trip. ${NOTE} an external crowbar is named here: crowbar: { trips at: 16.2 V, tried: 2026-11-02 }`,
      ],
      exit: 0,
    })
  })

  test.each(['16.01 V', '16.5 V'])('a crowbar at %s serves the sheets at hand: nothing is said', (volts) => {
    expect(checked(crowbar(volts))).toEqual({ lines: ['DIR/no-trip.yaml: right'], exit: 0 })
    expect(checked(crowbar(volts), sheet).exit).toBe(0)
  })

  test.each(['13.8 V', '16.0 V', '16.6 V'])(
    'a crowbar at %s serves none of them: refused with line and cure',
    (volts) => {
      const { lines, exit } = checked(crowbar(volts))
      const shown = `${Number.parseFloat(volts).toFixed(2)} V`
      expect(exit).toBe(1)
      expect(lines).toContain(
        `DIR/no-trip.yaml:5:28: instruments > supply > crowbar > trips at: ${wanted(shown, 'brackwater-27m-transmit.yaml')}`,
      )
    },
  )

  test('held against the sheet that is named beside it', () => {
    const low = write('low.yaml', readFileSync(sheet, 'utf8').replace('never above: 16.0 V', 'never above: 15.8 V'))
    const file = crowbar('15.9 V')
    expect(checked(file, low)).toEqual({ lines: ['DIR/no-trip.yaml: right', 'DIR/low.yaml: right'], exit: 0 })
    expect(checked(file, low, sheet)).toEqual({
      lines: [
        `DIR/no-trip.yaml:5:28: instruments > supply > crowbar > trips at: ${wanted('15.90 V', sheet)}`,
        'DIR/low.yaml: right',
        `${sheet}: right`,
      ],
      exit: 1,
    })
  })

  test('one that serves some of the sheets at hand: a note for each other', () => {
    const sheets = mkdtempSync(join(tmpdir(), 'trimwright-sheets-'))
    const text = readFileSync(sheet, 'utf8')
    writeFileSync(join(sheets, 'a.yaml'), text.replace('never above: 16.0 V', 'never above: 15.8 V'))
    writeFileSync(join(sheets, 'b.yaml'), text)
    const [found] = checkFiles([crowbar('15.9 V')], { drivers: 'drivers', procedures: sheets, today: '2026-11-02' })
    expect(found).toMatchObject({
      answer: 'right',
      notes: [expect.stringContaining(`trips at: note: ${wanted('15.90 V', 'b.yaml')}`)],
    })
  })

  test.each([
    ['2026-11-03', []],
    ['2025-11-02', []],
    [
      '2025-11-01',
      [
        'DIR/no-trip.yaml:5:43: instruments > supply > crowbar > tried: note: 2025-11-01 is more than 12 months ago; try the crowbar again and write the new day',
      ],
    ],
  ])('tried on %s, looked at on 2026-11-02', (tried, notes) => {
    expect(checked(crowbar('16.2 V', tried))).toEqual({ lines: ['DIR/no-trip.yaml: right', ...notes], exit: 0 })
  })

  test.each([
    ['2026-11-04', 'read 2026-11-04, a day that is still to come; try the crowbar and write the day on which you did'],
    ['2026-02-30', 'read "2026-02-30"; expected a day of the calendar like 2027-03-31'],
    ['soon', 'read "soon"; expected a day of the calendar like 2027-03-31'],
  ])('tried on %s is refused', (tried, words) => {
    expect(checked(crowbar('16.2 V', tried))).toEqual({
      lines: [`DIR/no-trip.yaml:5:43: instruments > supply > crowbar > tried: ${words}`],
      exit: 1,
    })
  })

  test('a supply with a trip of its own: nothing is said of a crowbar beside it', () => {
    const file = write('own.yaml', readFileSync(crowbar('15 V'), 'utf8').replace('supply-plain-scpi', 'supply-scpi'))
    expect(checked(file)).toEqual({ lines: ['DIR/own.yaml: right'], exit: 0 })
  })
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
      `${join(folder, 'json.yaml')}:3:1: x: unknown key; right here are: format, plan, title, source, spacing, reserved, uses, channels`,
    )
  })

  test('without a file says how it is used', async () => {
    await expect(run([])).rejects.toMatchObject({ code: 'COMMAND_USAGE' })
  })
})
