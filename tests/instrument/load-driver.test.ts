import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { BenchError } from '../../src/fault/bench-error.ts'
import { loadDriver, loadDriverFile } from '../../src/instrument/load-driver.ts'
import { refusalsOf } from '../../src/schema/door/yaml-door.ts'

const folder = mkdtempSync(join(tmpdir(), 'trimwright-driver-'))

const write = (name: string, text: string) => {
  writeFileSync(join(folder, name), text)
  return join(folder, name)
}

/** A driver of the project's own, with one line changed, in a folder of its own. */
const changed = (id: string, old: string, now: string) => {
  const text = readFileSync(join('drivers', `${id}.yaml`), 'utf8')
  if (!text.includes(old)) throw new TypeError(`${old} is not in ${id}`)
  return write('changed.yaml', text.replace(old, now))
}

const refusals = (path: string) => {
  try {
    loadDriverFile(path)
  } catch (error) {
    if (error instanceof BenchError) return refusalsOf(error).map((line) => line.replaceAll(folder, 'DIR'))
    throw error
  }
  return []
}

describe('a sample that the row does not decode to its value is refused with its line', () => {
  test.each([
    [
      'power-meter-scpi',
      'value: 3.85 mW',
      'value: 3.95 mW',
      'readings > RF power > sample: "+3.85000000E-03" decodes to 0.00385 W, not to 0.00395 W',
    ],
    [
      'power-meter-scpi',
      'unit: W',
      'unit: mW',
      'readings > RF power > sample: "+3.85000000E-03" decodes to 0.00000385 W, not to 0.00385 W',
    ],
    [
      'power-meter-scpi',
      'value: over',
      'value: under',
      'readings > RF power > sample: "9.9E+37" decodes to over, not to under',
    ],
    [
      'modulation-meter-scpi',
      'value: [1.78 kHz, 1.72 kHz]',
      'value: [1.72 kHz, 1.78 kHz]',
      'readings > FM deviation > sample: "+1.78000E+03,+1.72000E+03" decodes to 1780 and 1720 Hz, not to 1720 Hz and 1780 Hz',
    ],
    [
      'modulation-meter-scpi',
      'value: [1.78 kHz, 1.72 kHz]',
      'value: 1.78 kHz',
      'readings > FM deviation > sample: "+1.78000E+03,+1.72000E+03" decodes to 1780 and 1720 Hz, not to 1780 Hz',
    ],
    [
      'counter-scpi',
      'reply: number',
      'reply: numbr',
      'readings > frequency > reply: unknown form of reply; did you mean "number"?',
    ],
    [
      'counter-scpi',
      'reply: number',
      'reply: letter after number',
      'readings > frequency > sample: "+2.72050120E+07" decodes to unreadable, not to 27205012 Hz',
    ],
    [
      'supply-scpi',
      'message: "SOUR:VOLT 13.800"',
      'message: "SOUR:VOLT 13.8"',
      'settings > DC voltage > sample > message: this row sends "SOUR:VOLT 13.800", not "SOUR:VOLT 13.8"',
    ],
    [
      'supply-scpi',
      'reply: "+1.65000000E+01"',
      'reply: "+1.70000000E+01"',
      'settings > over-voltage trip > sample > reply: "+1.70000000E+01" decodes to 17, not to 16.5',
    ],
    [
      'supply-scpi',
      '"1": on, "0": off',
      '"2": on, "0": off',
      'settings > output > sample > reply: "1" decodes to nothing, not to on',
    ],
    [
      'supply-scpi',
      'bit: { number: 0, ',
      'bit: { number: 1, ',
      'states > regulation > sample: "1" decodes to voltage, not to current',
    ],
    [
      'supply-scpi',
      '"0": no, "1": yes',
      '"0": yes, "1": no',
      'states > tripped > sample: "0" decodes to yes, not to no',
    ],
    [
      'counter-scpi',
      'ask: "READ:FREQ?"',
      'ask: "READ::FREQ?"',
      'readings > frequency > ask: READ::FREQ? has two colons side by side, or one at an end',
    ],
    [
      'audio-oscillator-scpi',
      'start: "OUTP OFF"',
      'start: "OUTPUTOUTPUTOUT OFF"',
      'start: "OUTPUTOUTPUTOUT" in OUTPUTOUTPUTOUT has 15 characters; an instrument takes 12',
    ],
  ])('%s: %s becomes %s', (id, old, now, words) => {
    const found = refusals(changed(id, old, now))
    expect(found.map((line) => line.replace(/^DIR\/changed\.yaml:\d+:\d+: /, ''))).toContain(words)
    expect(found[0]).toMatch(/^DIR\/changed\.yaml:\d+:\d+: /)
  })
})

test('the place of a wrong sample is its own line and column', () => {
  const [line = ''] = refusals(changed('power-meter-scpi', 'value: over', 'value: under'))
  const [, row, column] = /^DIR\/changed\.yaml:(\d+):(\d+):/.exec(line) ?? []
  const text = readFileSync(join(folder, 'changed.yaml'), 'utf8').split('\n')
  expect(text[Number(row) - 1]?.slice(Number(column) - 1)).toContain('sample:')
})

describe('a driver that extends another', () => {
  const parent = readFileSync('drivers/power-meter-scpi.yaml', 'utf8')
  write('power-meter-scpi.yaml', parent)

  test('takes from it what it does not say itself, key by key', () => {
    write(
      'slow-head.yaml',
      'driver: slow-head\nextends: power-meter-scpi\ntitle: Thermal head\nreadings:\n  RF power: { takes: 1.5 s }\n',
    )
    const driver = loadDriver(folder, 'slow-head')
    expect(driver).toMatchObject({ id: 'slow-head', title: 'Thermal head', start: ['UNIT:POW W'] })
    expect(driver.readings[0]).toMatchObject({ takesMs: 1500, everyMs: 250, ask: 'READ:POW?' })
  })

  test('is refused at its own line for what it says wrong', () => {
    const path = write(
      'wrong-head.yaml',
      'driver: wrong-head\nextends: power-meter-scpi\nreadings:\n  RF power: { takse: 1.5 s }\n',
    )
    expect(refusals(path)).toEqual([
      'DIR/wrong-head.yaml:4:15: readings > RF power > takse: unknown key; did you mean "takes"?',
    ])
  })

  test('may not extend one that extends', () => {
    write('first.yaml', 'driver: first\nextends: power-meter-scpi\n')
    const path = write('second.yaml', 'driver: second\nextends: first\n')
    expect(refusals(path)).toEqual([
      'DIR/second.yaml: extends: DIR/first.yaml extends a file itself; one level is allowed',
    ])
  })

  test('may not reach outside its folder', () => {
    const path = write('third.yaml', 'driver: third\nextends: ../power-meter-scpi\n')
    expect(refusals(path)).toEqual([
      'DIR/third.yaml: extends: expected the name of a driver file beside this one, without .yaml',
    ])
  })

  test('is refused when the other is not there', () => {
    const path = write('fourth.yaml', 'driver: fourth\nextends: none-such\n')
    expect(refusals(path)[0]).toContain('none-such.yaml: cannot be read (ENOENT')
  })
})
