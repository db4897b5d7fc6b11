import { describe, expect, test } from 'vitest'
import { BenchError } from '../../../src/fault/bench-error.ts'
import { readYamlText, refusalsOf } from '../../../src/schema/door/yaml-door.ts'
import { BenchFile, kindOfBench } from '../../../src/schema/files/bench-file.ts'

const RIGHT = `bench: Workshop 2
instruments:
  counter:  { driver: counter-scpi, at: "tcp://192.168.1.40:5025", calibrated: { due: 2027-03-31, certificate: W-1182 } }
  power:    { driver: power-meter-scpi, at: "serial:/dev/ttyUSB0?baud=9600", path loss: 30.2 dB, accuracy: { of reading: 2.5 %, and: 10 mW } }
  modmeter: { driver: typed-in, quantity: FM deviation }
  volts:    { driver: multimeter-scpi, at: "tcp://192.168.1.43:5025", input isolated from link: yes, input resistance: 10 Mohm }
  supply:   { driver: supply-scpi, at: "tcp://192.168.1.41:5025", limits: { voltage: 16.5 V, current: 4 A }, supply lead: 50 mohm }
`

const refusals = (text: string) => {
  try {
    readYamlText(text, 'bench.yaml', BenchFile)
  } catch (error) {
    if (error instanceof BenchError) return refusalsOf(error)
    throw error
  }
  return []
}

test('a bench file becomes entries in SI, in the order in which they stand', () => {
  const file = readYamlText(RIGHT, 'bench.yaml', BenchFile)
  expect(file.name).toBe('Workshop 2')
  expect(file.entries.map((entry) => entry.name)).toEqual(['counter', 'power', 'modmeter', 'volts', 'supply'])
  expect(file.entries[0]).toMatchObject({
    at: 'tcp://192.168.1.40:5025',
    calibrationDue: '2027-03-31',
    certificate: 'W-1182',
    pathLossDb: null,
  })
  expect(file.entries[1]).toMatchObject({
    pathLossDb: 30.2,
    accuracy: { ofReading: 0.025, and: '10 mW' },
    inputIsolated: 'unknown',
  })
  expect(file.entries[2]).toMatchObject({ at: null, quantity: 'FM deviation', calibrationDue: null })
  expect(file.entries[3]).toMatchObject({ inputIsolated: 'yes', inputOhms: 10e6 })
  expect(file.entries[4]).toMatchObject({ limits: { ceilingVolts: 16.5, ceilingAmps: 4 }, supplyLeadOhms: 0.05 })
})

test('how well the path is known, and the standing wave ratios, in dB and as numbers; null where nobody says', () => {
  const [power] = readYamlText(
    'bench: A\ninstruments:\n  power: { driver: power-meter-scpi, at: simulated, path loss: 30.2 dB, path loss within: 0.1 dB, vswr: { set: 1.5, meter: 1.2 } }',
    'bench.yaml',
    BenchFile,
  ).entries
  expect(power).toMatchObject({ pathLossUncertaintyDb: 0.1, vswr: { set: 1.5, meter: 1.2 } })
  expect(readYamlText(RIGHT, 'bench.yaml', BenchFile).entries[1]).toMatchObject({
    pathLossUncertaintyDb: null,
    vswr: null,
  })
})

describe('a wrong bench file is refused with the place and the cure', () => {
  const one = (entry: string) => `bench: A\ninstruments:\n  volts: { driver: multimeter-scpi, ${entry} }\n`
  test.each([
    [
      'a misspelt key',
      one('at: simulated, path los: 30 dB'),
      ['bench.yaml:3:52: instruments > volts > path los: unknown key; did you mean "path loss"?'],
    ],
    [
      'an address without a way',
      one('at: 192.168.1.40'),
      [
        'bench.yaml:3:41: instruments > volts > at: read "192.168.1.40"; expected tcp://HOST:PORT, serial:PATH?baud=9600 or simulated',
      ],
    ],
    [
      'a path loss in watts',
      one('at: simulated, path loss: 30 W'),
      ['bench.yaml:3:63: instruments > volts > path loss: "30 W" is in W, but dB is wanted: write dB'],
    ],
    [
      'a path loss with the wrong sign',
      one('at: simulated, path loss: -30 dB'),
      ['bench.yaml:3:63: instruments > volts > path loss: read "-30 dB"; expected at least -20 dB'],
    ],
    [
      'a standing wave ratio below 1',
      one('at: simulated, vswr: { set: 0.9, meter: 1.2 }'),
      ['bench.yaml:3:65: instruments > volts > vswr > set: read "0.9"; expected at least 1'],
    ],
    [
      'a standing wave ratio of one side only',
      one('at: simulated, vswr: { set: 1.5 }'),
      ['bench.yaml:3:52: instruments > volts > vswr > meter: is missing; expected a number'],
    ],
    [
      'a path known to less than nothing',
      one('at: simulated, path loss within: -1 dB'),
      ['bench.yaml:3:70: instruments > volts > path loss within: read "-1 dB"; expected at least 0 dB'],
    ],
    [
      'a day that does not exist',
      one('at: simulated, calibrated: { due: 2027-02-30 }'),
      [
        'bench.yaml:3:71: instruments > volts > calibrated > due: read "2027-02-30"; expected a day of the calendar like 2027-03-31',
      ],
    ],
    [
      'an unknown isolation',
      one('at: simulated, input isolated from link: perhaps'),
      [
        'bench.yaml:3:78: instruments > volts > input isolated from link: read "perhaps"; expected yes or no or unknown',
      ],
    ],
    [
      'a name with capitals',
      'bench: A\ninstruments:\n  DVM: { driver: multimeter-scpi, at: simulated }',
      ['bench.yaml:3:3: instruments > DVM: read "DVM"; expected a short name in small letters, for example counter'],
    ],
    [
      'no driver',
      'bench: A\ninstruments:\n  volts: { at: simulated }',
      ['bench.yaml:3:3: instruments > volts > driver: is missing; expected text'],
    ],
    ['no instrument', 'bench: A\ninstruments: {}', ['bench.yaml:2:14: instruments: names no instrument']],
    [
      'two supplies',
      RIGHT.replace('input resistance: 10 Mohm', 'limits: { voltage: 5 V, current: 1 A }'),
      ['bench.yaml:7:75: instruments > supply > limits: "volts" is the supply already; a bench has one'],
    ],
    [
      'a meter on the port of the supply',
      RIGHT.replace('192.168.1.40:5025', '192.168.1.41:5025'),
      [
        'bench.yaml:3:41: instruments > counter > at: "supply", the supply, is reached here too; give the supply a link of its own',
      ],
    ],
    [
      'a meter on the serial line of the supply, at another speed',
      RIGHT.replace('tcp://192.168.1.41:5025', 'serial:/dev/ttyUSB0?baud=19200'),
      [
        'bench.yaml:4:45: instruments > power > at: "supply", the supply, is reached here too; give the supply a link of its own',
      ],
    ],
    [
      'a ceiling of 0 V',
      RIGHT.replace('voltage: 16.5 V', 'voltage: 0 V'),
      ['bench.yaml:7:86: instruments > supply > limits > voltage: read "0 V"; expected at least 0.1 V'],
    ],
  ])('%s', (_name, text, expected) => {
    expect(refusals(text)).toEqual(expected)
  })
})

describe('what kind of bench a file asks for', () => {
  test.each([
    ['real', RIGHT],
    ['simulated', RIGHT.replace(/at: "[^"]*"/g, 'at: simulated')],
    ['mixed', RIGHT.replace('at: "tcp://192.168.1.43:5025"', 'at: simulated')],
  ] as const)('%s', (kind, text) => {
    expect(kindOfBench(readYamlText(text, 'bench.yaml', BenchFile))).toBe(kind)
  })
})
