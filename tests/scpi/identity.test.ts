import { expect, test } from 'vitest'
import { isSimulated, readIdentity } from '../../src/scpi/identity.ts'

test.each([
  ['EXAMPLE,5500,SN123,2.1', ['EXAMPLE', '5500', 'SN123', '2.1']],
  [' EXAMPLE INSTRUMENTS , 5500 , 0 , 0 ', ['EXAMPLE INSTRUMENTS', '5500', '', '']],
  ['EXAMPLE,5500', ['EXAMPLE', '5500', '', '']],
  ['EXAMPLE,5500,1,A.01.10,B.02', ['EXAMPLE', '5500', '1', 'A.01.10,B.02']],
  ['"EXAMPLE,5500,1,2"', ['EXAMPLE', '5500', '1', '2']],
  ['5500 COUNTER REV 3', ['5500 COUNTER REV 3', '', '', '']],
  ['', ['', '', '', '']],
])('%j has its four fields, and the reply is kept', (raw, [maker, model, serial, firmware]) => {
  expect(readIdentity(raw)).toEqual({ maker, model, serial, firmware, raw })
})

test.each([
  ['TRIMWRIGHT SIMULATED,COUNTER,SIM-1,1', true],
  ['Simulated bench,COUNTER,SIM-1,1', true],
  ['EXAMPLE,SIMULATED,1,1', false],
  ['UNSIMULATED,COUNTER,1,1', false],
  ['EXAMPLE,5500,SN123,2.1', false],
])('%j is simulated: %s', (raw, simulated) => {
  expect(isSimulated(readIdentity(raw))).toBe(simulated)
})
