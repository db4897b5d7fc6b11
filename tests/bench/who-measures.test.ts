import { mkdtempSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { loadBench } from '../../src/bench/load-bench.ts'
import { madeBy, measuredBy } from '../../src/bench/who-measures.ts'
import { BenchError } from '../../src/fault/bench-error.ts'
import { refusalsOf } from '../../src/schema/door/yaml-door.ts'
import { meterFacts } from '../../src/schema/files/meter-facts.ts'

const folder = mkdtempSync(join(tmpdir(), 'trimwright-bench-'))
const PATH = join(folder, 'bench.yaml')

const load = (...entries: string[]) => {
  writeFileSync(PATH, `bench: Test\ninstruments:\n${entries.map((entry) => `  ${entry}\n`).join('')}`)
  return loadBench(PATH, 'drivers')
}

const refusals = (...entries: string[]) => {
  try {
    load(...entries)
  } catch (error) {
    if (error instanceof BenchError) return refusalsOf(error).map((line) => line.replace(PATH, 'bench.yaml'))
    throw error
  }
  return []
}

const VOLTS = 'volts: { driver: multimeter-scpi, at: simulated }'
const SUPPLY = 'supply: { driver: supply-scpi, at: simulated, limits: { voltage: 16.5 V, current: 4 A } }'

test('the simulated bench measures six quantities, each with one instrument, and has an oscillator', () => {
  const { file, drivers } = loadBench('mocks/benches/separate.yaml', 'drivers')
  const driverOf = (id: string) => {
    const driver = drivers.get(id)
    if (!driver) throw new TypeError(id)
    return driver
  }
  const measured = file.entries.flatMap((entry) =>
    measuredBy(entry, driverOf(entry.driver)).map((quantity) => `${entry.name}: ${quantity}`),
  )
  expect(measured).toEqual([
    'counter: frequency',
    'power: RF power',
    'modmeter: FM deviation',
    'modmeter: AM depth',
    'volts: DC voltage',
    'supply: DC current',
  ])
  const made = file.entries.flatMap((entry) =>
    madeBy(entry, driverOf(entry.driver)).map((name) => `${entry.name}: ${name}`),
  )
  expect(made).toEqual(['oscillator: audio tone'])
})

test('two instruments share out by "measures"', () => {
  const { file, drivers } = load(
    'first: { driver: modulation-meter-scpi, at: simulated, measures: FM deviation }',
    'second: { driver: modulation-meter-scpi, at: simulated, measures: [AM depth] }',
  )
  const driver = drivers.get('modulation-meter-scpi')
  expect(driver && file.entries.map((entry) => measuredBy(entry, driver))).toEqual([['FM deviation'], ['AM depth']])
})

test('two meters of one quantity stand side by side by their roles', () => {
  const { file, drivers } = load(VOLTS, 'dvm: { driver: multimeter-scpi, at: simulated, role: plug }')
  const driver = drivers.get('multimeter-scpi')
  const facts = file.entries.map((entry) => driver && meterFacts(entry, driver, 'DC voltage'))
  expect(facts.map((one) => [one?.instrument, one?.role])).toEqual([
    ['volts', undefined],
    ['dvm', 'plug'],
  ])
  expect(facts[0] && 'role' in facts[0]).toBe(false)
})

test('a second oscillator stands dark beside the first by "makes: none"', () => {
  const { file, drivers } = load(
    'first: { driver: audio-oscillator-scpi, at: simulated, makes: audio tone }',
    'second: { driver: audio-oscillator-scpi, at: simulated, makes: none }',
  )
  const driver = drivers.get('audio-oscillator-scpi')
  expect(driver && file.entries.map((entry) => madeBy(entry, driver))).toEqual([['audio tone'], []])
})

describe('a bench that cannot be is refused with the place and the cure', () => {
  test.each([
    [
      'two meters for one quantity',
      [VOLTS, 'dvm: { driver: multimeter-scpi, at: simulated }'],
      [
        'bench.yaml:4:3: instruments > dvm: DC voltage is measured by "volts" already; write what this one is for, for example "role: plug", or narrow one of them with "measures"',
      ],
    ],
    [
      'a typed-in meter for what is measured',
      [VOLTS, 'hand: { driver: typed-in, quantity: DC voltage }'],
      [
        'bench.yaml:4:3: instruments > hand: DC voltage is measured by "volts" already; write what this one is for, for example "role: plug", or narrow one of them with "measures"',
      ],
    ],
    [
      'two oscillators',
      ['a: { driver: audio-oscillator-scpi, at: simulated }', 'b: { driver: audio-oscillator-scpi, at: simulated }'],
      [
        'bench.yaml:4:3: instruments > b: the tone is made by "a" already; leave one of them out, or write "makes: none" here',
      ],
    ],
    [
      'two meters in one role',
      [
        'volts: { driver: multimeter-scpi, at: simulated, role: plug }',
        'dvm: { driver: multimeter-scpi, at: simulated, role: plug }',
      ],
      [
        'bench.yaml:4:3: instruments > dvm: DC voltage in the role "plug" is measured by "volts" already; give one of them another role',
      ],
    ],
    [
      'a role of the supply',
      [SUPPLY.replace('at: simulated', 'at: simulated, role: plug')],
      [
        'bench.yaml:3:55: instruments > supply > role: the current of the supply has none: the limit and the key are known by it',
      ],
    ],
    [
      'a signal that the driver does not make',
      ['volts: { driver: multimeter-scpi, at: simulated, makes: audio tone }'],
      ['bench.yaml:3:59: instruments > volts > makes: multimeter-scpi makes no tone; it makes: nothing'],
    ],
    [
      'a signal that nobody knows',
      ['a: { driver: audio-oscillator-scpi, at: simulated, makes: tones }'],
      [
        'bench.yaml:3:61: instruments > a > makes: read "tones"; expected a list or one of: none, audio tone, RF signal',
      ],
    ],
    [
      'a quantity that the driver does not read',
      ['volts: { driver: multimeter-scpi, at: simulated, measures: RF power }'],
      [
        'bench.yaml:3:62: instruments > volts > measures: multimeter-scpi has no row for RF power; it reads: DC voltage',
      ],
    ],
    [
      'a typed-in meter with an address',
      ['hand: { driver: typed-in, at: simulated, quantity: SINAD }'],
      ['bench.yaml:3:33: instruments > hand > at: a meter that is read by a person has no address'],
    ],
    [
      'a typed-in meter of nothing',
      ['hand: { driver: typed-in }'],
      ['bench.yaml:3:3: instruments > hand > quantity: is missing; expected what the meter measures'],
    ],
    [
      'a meter without an address',
      ['volts: { driver: multimeter-scpi }'],
      [
        'bench.yaml:3:3: instruments > volts > at: is missing; expected tcp://HOST:PORT, serial:PATH?baud=9600 or simulated',
      ],
    ],
    [
      'a supply without limits',
      ['supply: { driver: supply-scpi, at: simulated }'],
      ['bench.yaml:3:3: instruments > supply > limits: is missing; a supply needs { voltage: 16.5 V, current: 4 A }'],
    ],
    [
      'limits on a meter',
      ['volts: { driver: multimeter-scpi, at: simulated, limits: { voltage: 5 V, current: 1 A } }'],
      ['bench.yaml:3:60: instruments > volts > limits: multimeter-scpi is not a supply'],
    ],
    [
      'an accuracy in another unit',
      ['volts: { driver: multimeter-scpi, at: simulated, accuracy: { and: 2 mW } }'],
      [
        'bench.yaml:3:69: instruments > volts > accuracy > and: "2 mW" is in mW, but V is wanted: write V, mV, uV, nV, kV or dBm',
      ],
    ],
    [
      'a driver that is not there',
      [SUPPLY, 'volts: { driver: multimeter, at: simulated }'],
      ['bench.yaml:4:20: instruments > volts > driver: there is no drivers/multimeter.yaml'],
    ],
  ])('%s', (_name, entries, expected) => {
    expect(refusals(...entries)).toEqual(expected)
  })
})
