import { describe, expect, test } from 'vitest'
import { BenchError } from '../../../src/fault/bench-error.ts'
import { readYamlText, refusalsOf } from '../../../src/schema/door/yaml-door.ts'
import { DriverFile } from '../../../src/schema/files/driver-file.ts'

const RIGHT = `driver: head-9
format: 1
title: Power head
manual: Remote guide, rev. C
identify: { ask: "*IDN?", looks like: "EXAMPLE,HEAD-9,*" }
link:
  question ends: CR LF
  reply within: 2 s
  pause: 20 ms
  on a serial line: { pause: 60 ms }
  after a missed reply: sentinel
  errors: "SYST:ERR?"
start: "UNIT:POW W"
readings:
  RF power:
    ask: "READ:POW?"
    unit: mW
    takes: 0.3 s
    every: 250 ms
    step: 0.01 W
    noise: { of reading: 0.5 %, and: 3 mW }
    accuracy: { of reading: 5 % }
    tokens: { "----": no signal }
    sample: { reply: "3850", value: 3.85 W }
    page: 4-12
settings:
  audio tone:
    tell: "FREQ {value}"
    unit: kHz
    decimals: 2
    least: 20 Hz
    most: 20 kHz
    sample: { value: 1 kHz, message: "FREQ 1.00" }
    page: 4-20
  output:
    tell: "OUT {value}"
    says: { on: ON, off: OFF }
    sample: { value: off, message: OUT OFF }
    page: 4-21
`

/** The file with the first line that holds `old` changed. */
const but = (old: string, changed: string) => {
  if (!RIGHT.includes(old)) throw new TypeError(`${old} is not in the file`)
  return RIGHT.replace(old, changed)
}

const refusals = (text: string) => {
  try {
    readYamlText(text, 'd.yaml', DriverFile)
  } catch (error) {
    if (error instanceof BenchError) return refusalsOf(error)
    throw error
  }
  return []
}

test('a driver file becomes SI: milliseconds, watts, shares, line ends', () => {
  const driver = readYamlText(RIGHT, 'd.yaml', DriverFile)
  expect(driver.id).toBe('head-9')
  expect(driver.identify).toEqual({ ask: '*IDN?', looksLike: ['EXAMPLE,HEAD-9,*'], differs: false })
  expect(driver.start).toEqual(['UNIT:POW W'])
  expect(driver.link).toEqual({
    sendEnd: '\r\n',
    replyEnd: '\n',
    replyWithinMs: 2000,
    onNetwork: { gapMs: 20, settleMs: 0, quietMs: 50 },
    onSerial: { gapMs: 60, settleMs: 200, quietMs: 150 },
    longestMessage: 255,
    joins: false,
    resync: 'sentinel',
    clear: null,
    errorsAsk: 'SYST:ERR?',
  })
  expect(driver.readings).toHaveLength(1)
  expect(driver.readings[0]).toMatchObject({
    quantity: 'RF power',
    unit: 'W',
    ask: 'READ:POW?',
    reply: 'number',
    spoken: { kind: 'factor', factor: 1e-3 },
    scale: 1,
    takesMs: 300,
    everyMs: 250,
    gateMs: 0,
    step: 0.01,
    noise: { ofReading: 0.005, floor: 0.003 },
    accuracy: { ofReading: 0.05, floor: 0 },
    tokens: { '----': 'no signal' },
    samples: [{ reply: '3850', value: [{ state: 'good', value: 3.85 }] }],
    page: '4-12',
  })
  expect(driver.settings[0]).toMatchObject({
    kind: 'value',
    name: 'audio tone',
    least: 20,
    most: 20_000,
    step: 10,
    decimals: 2,
  })
  expect(driver.settings[1]).toMatchObject({ kind: 'switch', name: 'output', says: { on: 'ON', off: 'OFF' } })
})

describe('a wrong driver file is refused with the place and the cure', () => {
  test.each([
    [
      'a quantity that does not exist',
      but('  RF power:', '  RF pwer:'),
      ['d.yaml:15:3: readings > RF pwer: unknown key; did you mean "RF power"?'],
    ],
    [
      'a unit of something else',
      but('unit: mW', 'unit: mV'),
      ['d.yaml:17:11: readings > RF power > unit: read "mV"; expected W, or a unit that goes into it'],
    ],
    [
      'a step without a unit',
      but('step: 0.01 W', 'step: 0.01'),
      ['d.yaml:20:11: readings > RF power > step: "0.01" has no unit: write W, mW, uW, nW, pW, kW or dBm behind it'],
    ],
    [
      'no sample',
      but('    sample: { reply: "3850", value: 3.85 W }\n', ''),
      ['d.yaml:15:3: readings > RF power: needs a "sample" with a reply and its value'],
    ],
    ['no page', but('    page: 4-12\n', ''), ['d.yaml:15:3: readings > RF power > page: is missing; expected text']],
    ['no question', but('    ask: "READ:POW?"\n', ''), ['d.yaml:15:3: readings > RF power: needs an "ask"']],
    [
      'an unknown way back',
      but('missed reply: sentinel', 'missed reply: pray'),
      ['d.yaml:11:25: link > after a missed reply: read "pray"; expected one of: sentinel, identity, drain, reopen'],
    ],
    [
      'identity without a question for it',
      but('identify: { ask: "*IDN?", looks like: "EXAMPLE,HEAD-9,*" }\n', '').replace('sentinel', 'identity'),
      ['d.yaml:10:25: link > after a missed reply: identity needs an "identify" part'],
    ],
    [
      'a field that is not in the reply',
      but('unit: mW', 'field: 3 of 2\n    unit: mW'),
      ['d.yaml:17:12: readings > RF power > field: read "3 of 2"; expected a place like 2 of 4'],
    ],
    [
      'a field of two numbers',
      but('unit: mW', 'field: 1 of 2\n    reply: two numbers\n    unit: mW'),
      ['d.yaml:17:12: readings > RF power > field: goes with "reply: number" only'],
    ],
    [
      'a state that does not exist',
      but('no signal }', 'nosignal }'),
      [
        'd.yaml:23:23: readings > RF power > tokens > ----: read "nosignal"; expected one of: over, under, not a number, blank, no signal, stale, unreadable; did you mean "no signal"?',
      ],
    ],
    [
      'a message without the value',
      but('FREQ {value}', 'FREQ'),
      ['d.yaml:28:11: settings > audio tone > tell: read "FREQ"; expected a message with {value} in it once'],
    ],
    [
      'limits upside down',
      but('least: 20 Hz', 'least: 30 kHz'),
      ['d.yaml:31:12: settings > audio tone > least: must lie below "most"'],
    ],
    [
      'a read back without its sample',
      but('    sample: { value: 1 kHz', '    read back: "FREQ?"\n    sample: { value: 1 kHz'),
      ['d.yaml:34:13: settings > audio tone > sample: needs a "reply" that the read back gives for this value'],
    ],
    [
      'no link',
      RIGHT.replace(/^link:\n(?: .*\n)+/m, ''),
      ['d.yaml:1:1: the file: needs a "link" part, or "typed: yes"'],
    ],
    [
      'a typed-in meter with a question',
      RIGHT.replace(/^link:\n(?: .*\n)+/m, 'typed: yes\n'),
      ['d.yaml:10:10: readings > RF power > ask: does not go with "typed: yes"'],
    ],
    [
      'nothing to read or set',
      RIGHT.slice(0, RIGHT.indexOf('readings:')),
      ['d.yaml:1:1: the file: needs at least one row under "readings" or "settings"'],
    ],
    [
      'a supply without what a supply needs',
      but('format: 1', 'format: 1\nsupply: yes'),
      [
        'd.yaml:15:1: readings: a supply needs the row "DC voltage"',
        'd.yaml:15:1: readings: a supply needs the row "DC current"',
        'd.yaml:27:1: settings: a supply needs the row "DC voltage"',
        'd.yaml:27:1: settings: a supply needs the row "DC current"',
        'd.yaml:36:3: settings > output: a supply needs a "read back" here',
      ],
    ],
  ])('%s', (_name, text, expected) => {
    expect(refusals(text)).toEqual(expected)
  })
})

describe('a box of several instruments', () => {
  const BOX = `driver: box
format: 1
title: Box
manual: Guide
identify: { ask: "*IDN?", looks like: "*,*,*,*" }
link: { reply within: 2 s, after a missed reply: sentinel }
functions:
  power: { select: "INST:SEL POW", takes: 1 s, read back: "INST:SEL?", answers: POW, page: 3-1 }
  volts: { select: ["ROUT FRONT", "INST:SEL VOLT"], takes: 0.5 s, page: 3-2 }
readings:
  RF power:
    function: power
    ask: "READ:POW?"
    unit: W
    takes: 0.3 s
    every: 0.3 s
    step: 1 mW
    noise: {}
    accuracy: {}
    sample: { reply: "3.85", value: 3.85 W }
    page: 4-12
  DC voltage:
    function: volts
    ask: "READ:VOLT?"
    unit: V
    takes: 0.3 s
    every: 0.3 s
    step: 1 mV
    noise: {}
    accuracy: {}
    sample: { reply: "13.8", value: 13.8 V }
    page: 4-13
`
  const box = (old: string, changed: string) => {
    if (!BOX.includes(old)) throw new TypeError(`${old} is not in the file`)
    return BOX.replace(old, changed)
  }

  test('keeps its functions, and each row the one that it needs', () => {
    const { functions, readings } = readYamlText(BOX, 'd.yaml', DriverFile)
    expect(functions).toEqual([
      {
        name: 'power',
        select: ['INST:SEL POW'],
        takesMs: 1000,
        readBack: 'INST:SEL?',
        answers: ['POW'],
        firstIsNew: false,
        page: '3-1',
      },
      {
        name: 'volts',
        select: ['ROUT FRONT', 'INST:SEL VOLT'],
        takesMs: 500,
        readBack: null,
        answers: [],
        firstIsNew: false,
        page: '3-2',
      },
    ])
    expect(readings.map((row) => [row.quantity, row.function])).toEqual([
      ['RF power', 'power'],
      ['DC voltage', 'volts'],
    ])
  })

  test.each([
    [
      'a function that it does not have',
      box('function: power', 'function: powr'),
      [
        'd.yaml:8:10: functions > power: no row under "readings" uses it',
        'd.yaml:12:15: readings > RF power > function: read "powr"; did you mean "power"?',
      ],
    ],
    [
      'a row without one',
      box('    function: volts\n', ''),
      [
        'd.yaml:9:10: functions > volts: no row under "readings" uses it',
        'd.yaml:22:3: readings > DC voltage: needs a "function"; the box has: power, volts',
      ],
    ],
    [
      'a row with one in a driver without functions',
      RIGHT.replace('    unit: mW', '    function: power\n    unit: mW'),
      ['d.yaml:17:15: readings > RF power > function: the driver has no "functions" part that says how it is selected'],
    ],
    [
      'nothing that selects it',
      box('select: "INST:SEL POW", ', ''),
      ['d.yaml:8:3: functions > power > select: is missing; expected a list or text'],
    ],
    [
      'a time without a unit',
      box('takes: 1 s', 'takes: 1'),
      ['d.yaml:8:43: functions > power > takes: "1" has no unit: write s, ms, us, ns or min behind it'],
    ],
    [
      'a question without its answer',
      box(', answers: POW', ''),
      [
        'd.yaml:8:3: functions > power > answers: "read back" and "answers" go together: the question, and what is answered in this function',
      ],
    ],
    [
      'a misspelt key',
      box('read back:', 'readback:'),
      [
        'd.yaml:8:48: functions > power > readback: unknown key; did you mean "read back"?',
        'd.yaml:8:80: functions > power > answers: "read back" and "answers" go together: the question, and what is answered in this function',
      ],
    ],
    [
      'identity by a reply that differs each time',
      box('looks like: "*,*,*,*" }', 'looks like: "*,*,*,*", differs each time: yes }').replace('sentinel', 'identity'),
      [
        'd.yaml:6:50: link > after a missed reply: identity needs a reply that is always the same; write drain or reopen',
      ],
    ],
  ])('%s is refused with the place and the cure', (_name, text, expected) => {
    expect(refusals(text)).toEqual(expected)
  })
})

describe('a reply of fixed columns', () => {
  const FIXED =
    'reply: fixed\n    fixed: { length: 10, status: 1, number: 4 .. 9, unit: 10, letters: { N: good, O: over }, units: { m: mW } }'
  const fixed = (old: string, changed: string) => {
    if (!FIXED.includes(old)) throw new TypeError(`${old} is not in the row`)
    return but('unit: mW', `${FIXED.replace(old, changed)}\n    unit: mW`)
  }

  test('keeps columns from 1, letters as states, and a unit for what may stand in its columns', () => {
    const { readings } = readYamlText(fixed('', ''), 'd.yaml', DriverFile)
    expect(readings[0]?.fixed).toEqual({
      length: 10,
      status: { from: 1, to: 1 },
      number: { from: 4, to: 9 },
      unit: { from: 10, to: 10 },
      letters: { N: 'good', O: 'over' },
      units: { m: { kind: 'factor', factor: 1e-3 } },
    })
  })

  test.each([
    [
      'columns behind the end',
      fixed('unit: 10', 'unit: 11'),
      ['d.yaml:18:59: readings > RF power > fixed > unit: ends at column 11; the reply has 10'],
    ],
    [
      'columns from 0',
      fixed('status: 1', 'status: 0'),
      ['d.yaml:18:34: readings > RF power > fixed > status: read "0"; expected columns like 4 .. 9, counted from 1'],
    ],
    [
      'a letter with a state that does not exist',
      fixed('O: over', 'O: ovr'),
      [
        'd.yaml:18:86: readings > RF power > fixed > letters > O: read "ovr"; expected one of: good, over, under, not a number, blank, no signal, stale, unreadable; did you mean "over"?',
      ],
    ],
    [
      'letters without a good one',
      fixed('N: good, ', ''),
      [
        'd.yaml:18:72: readings > RF power > fixed > letters: needs the letter of a good number, for example { N: good, O: over }',
      ],
    ],
    [
      'a letter of two columns in one',
      fixed('O: over', 'OV: over'),
      ['d.yaml:18:72: readings > RF power > fixed > letters: "OV" does not fit into 1 column'],
    ],
    [
      'a unit of another quantity',
      fixed('m: mW', 'm: mV'),
      ['d.yaml:18:106: readings > RF power > fixed > units > m: read "mV"; expected W, or a unit that goes into it'],
    ],
    [
      'columns of a unit without the units',
      fixed(', units: { m: mW }', ''),
      [
        'd.yaml:18:5: readings > RF power > fixed > units: needs what may stand in the columns of the unit, for example { W: W }',
      ],
    ],
    [
      'columns without "reply: fixed"',
      fixed('reply: fixed', 'reply: number'),
      [
        'd.yaml:18:12: readings > RF power > fixed: goes with "reply: fixed", and that needs it: { length: 10, status: 1, number: 4 .. 9, letters: { N: good } }',
      ],
    ],
    [
      '"reply: fixed" without columns',
      but('unit: mW', 'reply: fixed\n    unit: mW'),
      [
        'd.yaml:15:3: readings > RF power > fixed: goes with "reply: fixed", and that needs it: { length: 10, status: 1, number: 4 .. 9, letters: { N: good } }',
      ],
    ],
  ])('%s is refused with the place and the cure', (_name, text, expected) => {
    expect(refusals(text)).toEqual(expected)
  })
})

describe('settings stand when', () => {
  const withRow = (row: string) => RIGHT.replace('readings:', `settings stand when: ${row}\nreadings:`)

  test('names what shows it; a number is what an instrument may write in another form', () => {
    const { stand } = readYamlText(
      withRow('{ power-on bit: clear, mark: there, answers: { "UNIT:POW?": [W, WATT], "GATE?": 1 } }'),
      'd.yaml',
      DriverFile,
    )
    expect(stand).toEqual({
      powerOnBit: true,
      mark: true,
      answers: [
        { ask: 'UNIT:POW?', replies: ['W', 'WATT'] },
        { ask: 'GATE?', replies: ['1'] },
      ],
      inReading: false,
    })
    expect(readYamlText(RIGHT, 'd.yaml', DriverFile).stand).toBeNull()
  })

  test('each reading that says so stands alone', () => {
    expect(refusals(withRow('{ each reading: says so, mark: there }')).join('\n')).toContain('stands alone')
    expect(refusals(withRow('{ each reading: says so }'))).toEqual([])
  })
})
