import { readFileSync } from 'node:fs'
import { expect, test } from 'vitest'
import { sampleFaults } from '../../../src/instrument/check-samples.ts'
import { readYamlText } from '../../../src/schema/door/yaml-door.ts'
import { DriverFile } from '../../../src/schema/files/driver-file.ts'

const text = readFileSync('drivers/supply-scpi.yaml', 'utf8')
const read = (more: string) => readYamlText(`${text}${more}\n`, 'two.yaml', DriverFile, { further: sampleFaults })

test.each(['"INST:NSEL 2"', '["SYST:REM", "INST:NSEL 2"]', '":INSTrument:SELect OUT2"', '"OUTP:SEL 2"'])(
  'a selection in start alone is refused: %s',
  (start) => {
    expect(() => read(`start: ${start}`)).toThrow(/two\.yaml:\d+:\d+: start: chooses the output at the start only/)
  },
)

test('"select" stands in front of every message, question and make-safe message', () => {
  const driver = read('select: "INST:NSEL 2"')
  expect(driver.makeSafe).toEqual(['INST:NSEL 2;:OUTP OFF'])
  const messages = [
    ...driver.readings.map(({ ask }) => ask),
    ...driver.settings.flatMap(({ tell, readBack }) => [tell, readBack]),
    ...driver.states.map(({ ask }) => ask),
  ]
  expect(messages.filter((message) => !message?.startsWith('INST:NSEL 2;:'))).toEqual([])
})

test('make safe must end with the message that switches the output off', () => {
  expect(() =>
    readYamlText(text.replace(/^make safe: "OUTP OFF"/m, 'make safe: "SYST:REM"'), 'two.yaml', DriverFile),
  ).toThrow(/make safe: its last message must be the one that switches the output off: OUTP OFF/)
})
