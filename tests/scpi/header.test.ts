import { expect, test } from 'vitest'
import { formatNumber, headerProblem } from '../../src/scpi/header.ts'
import vectors from '../reference/scpi_vectors.json' with { type: 'json' }

test.each(Object.keys(vectors.common_commands.mandatory).map((command) => [command]))('%s can be sent', (command) => {
  expect(headerProblem(command)).toBeNull()
})

test.each([
  ['MEAS:VOLT:DC?'],
  [':MEAS:VOLT?'],
  ['FREQuency?'],
  ['VOLT 13.80'],
  ['*ESE 17'],
  ['CONF:VOLT:DC 20;:READ?'],
  ['SYST:ERR?;*CLS'],
  ['OUTP1:STAT ON'],
  ['DISP:TEXT "a;b:c??"'],
  ["DISP:TEXT 'it''s'"],
  ['READ? '],
  ['LEVEL_2?'],
])('%j can be sent', (ask) => {
  expect(headerProblem(ask)).toBeNull()
})

test.each([
  ['', 'it is empty'],
  ['  ', 'it is empty'],
  ['VOLT 13.8\n', 'it holds "\\n", which is no printable ASCII character'],
  ['VOLT 5 µV', 'it holds "µ", which is no printable ASCII character'],
  ['MEAS:VOLT?;', 'two semicolons follow each other, or one stands at an end'],
  ['MEAS::VOLT?', 'MEAS::VOLT? has two colons side by side, or one at an end'],
  ['MEAS:VOLT:?', 'MEAS:VOLT:? has two colons side by side, or one at an end'],
  ['MEAS?:VOLT', 'MEAS?:VOLT has a question mark that is not at the end of the header'],
  ['MEAS:2VOLT?', '"2VOLT" in MEAS:2VOLT? is not a letter followed by letters and digits'],
  ['MEAS,VOLT?', '"MEAS,VOLT" in MEAS,VOLT? is not a letter followed by letters and digits'],
  [':*IDN?', ':*IDN?: a common command has no colon before it'],
  ['*I?', '*I? is not a star and the letters of a common command'],
  ['MEASUREVOLTAGE?', '"MEASUREVOLTAGE" in MEASUREVOLTAGE? has 14 characters; an instrument takes 12'],
  ['DISP:TEXT "a', 'a quote is opened and never closed'],
])('%j is refused: %s', (ask, words) => {
  expect(headerProblem(ask)).toBe(words)
})

test('a mnemonic of 12 characters can be sent, one of 13 cannot', () => {
  expect(headerProblem('ABCDEFGHIJKL?')).toBeNull()
  expect(headerProblem('ABCDEFGHIJKLM?')).toContain('13 characters')
})

test.each([
  [13.8, 2, '13.80'],
  [1e-7, 3, '0.000'],
  [-0.0004, 3, '0.000'],
  [-1.5, 1, '-1.5'],
  [27_205_000, 0, '27205000'],
  [1.5e20, 0, '150000000000000000000'],
])('%f with %i places is sent as %s', (value, decimals, text) => {
  expect(formatNumber(value, decimals)).toBe(text)
})

test.each([[Number.NaN], [Number.POSITIVE_INFINITY], [1e21]])('%f cannot be sent', (value) => {
  expect(() => formatNumber(value, 2)).toThrow(TypeError)
})
