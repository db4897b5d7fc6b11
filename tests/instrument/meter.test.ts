import { describe, expect, test } from 'vitest'
import { meterOn } from '../../src/instrument/meter.ts'
import type { DriverFile } from '../../src/schema/files/driver-file.ts'
import { never, rejectionOf } from '../kit/links/instrument-deps.ts'
import { openScripted } from '../kit/links/open-scripted.ts'

const twice = <T>(list: readonly T[]): readonly T[] => [...list, ...list]
const wait = () => ({ ms: 60_000, signal: never() })

test('a reading carries value, raw reply, and the times at which the question left and the reply was complete', async () => {
  const { clock, scripted, instrument } = await openScripted('power-meter-scpi', { 'READ:POW?': '+3.85000000E-03' })
  scripted.delayMs = 250
  const beganMs = clock.nowMs()
  const reading = await clock.runUntil(meterOn(instrument).read('RF power', wait()))
  expect(reading).toEqual({ value: 0.00385, state: 'good', raw: '+3.85000000E-03', beganMs, arrivedMs: beganMs + 250 })
})

test('both peaks of deviation come as parts, the larger as value', async () => {
  const { clock, instrument } = await openScripted('modulation-meter-scpi', {
    'READ:FM:DEV?': '+1.72000E+03,+1.78000E+03',
  })
  const reading = await clock.runUntil(meterOn(instrument).read('FM deviation', wait()))
  expect(reading).toMatchObject({ value: 1780, parts: [1720, 1780] })
})

describe('a misshapen reply is unreadable, and the next question waits until the link is in step', () => {
  test.each(['+3.85W', 'ERR', '1,2', '1.465E+08'])('%s', async (reply) => {
    const { clock, scripted, instrument } = await openScripted('power-meter-scpi', { 'READ:POW?': reply })
    const meter = meterOn(instrument)
    const reading = await clock.runUntil(meter.read('RF power', wait()))
    expect(reading).toMatchObject({ value: null, state: 'unreadable', raw: reply })
    scripted.answers['READ:POW?'] = '+1.0'
    scripted.heard.length = 0
    await expect(clock.runUntil(meter.read('RF power', wait()))).resolves.toMatchObject({ value: 1, state: 'good' })
    expect(scripted.heard.some(({ text }) => text.startsWith('*ESE '))).toBe(true)
  })
})

test('a good reply costs no resynchronising', async () => {
  const { clock, scripted, instrument } = await openScripted('power-meter-scpi', { 'READ:POW?': '+1.0' })
  const meter = meterOn(instrument)
  await clock.runUntil(meter.read('RF power', wait()))
  await clock.runUntil(meter.read('RF power', wait()))
  expect(scripted.heard.map(({ text }) => text)).toEqual(twice(['READ:POW?', '*ESR?', 'UNIT:POW?']))
})

test('a question that is met with silence is explained by the error queue', async () => {
  let errors = ['-113,"Undefined header"']
  const { clock, instrument } = await openScripted('power-meter-scpi', {
    'READ:POW?': null,
    'SYST:ERR?': () => errors.shift() ?? '0,"No error"',
  })
  errors = ['-113,"Undefined header"']
  await expect(rejectionOf(clock, meterOn(instrument).read('RF power', wait()))).resolves.toMatchObject({
    message:
      'unit (power-meter-scpi at memory:unit): answers -113 "Undefined header" to READ:POW?. Read the instrument manual on that error number [INSTRUMENT_REFUSED]',
  })
})

test('silence without an error in the queue stays a missed reply', async () => {
  const { clock, instrument } = await openScripted('power-meter-scpi', { 'READ:POW?': null })
  await expect(rejectionOf(clock, meterOn(instrument).read('RF power', wait()))).resolves.toMatchObject({
    message:
      'unit (power-meter-scpi at memory:unit): no reply to READ:POW?;*ESR?;:UNIT:POW? within 2000 ms. Check cable and remote mode, then repeat the step [TRANSPORT_REPLY_TIMEOUT]',
  })
})

test('a counter with a 1 s gate has 2.5 s to answer: one and a half gates and 1 s', async () => {
  const { clock, scripted, instrument } = await openScripted('counter-scpi', { 'READ:FREQ?': '+2.7205E+07' })
  scripted.delayMs = 2400
  await expect(clock.runUntil(meterOn(instrument).read('frequency', wait()))).resolves.toMatchObject({
    value: 27_205_000,
  })
})

test('a quantity that the driver has no row for is refused', async () => {
  const { clock, instrument } = await openScripted('counter-scpi', {})
  await expect(rejectionOf(clock, meterOn(instrument).read('SINAD', wait()))).resolves.toMatchObject({
    message:
      'unit (counter-scpi at memory:unit): counter-scpi does not read SINAD. Add the row to the driver file, or use another instrument [DRIVER_NO_SUCH_ROW]',
  })
})

test('one box that is several instruments is switched before it is read, only when the function changes, and its first reading then is thrown away', async () => {
  const select: Record<string, readonly string[]> = { 'FM deviation': ['FUNC FM'], 'AM depth': ['FUNC AM'] }
  const switched = (driver: DriverFile) => ({
    ...driver,
    readings: driver.readings.map((row) => ({ ...row, select: select[row.quantity] ?? [] })),
  })
  const answers = { 'READ:FM:DEV?': '1.0E+03,1.0E+03', 'READ:AM:DEPT?': '50,50' }
  const { clock, instrument, said } = await openScripted('modulation-meter-scpi', answers, switched)
  const meter = meterOn(instrument)
  for (const quantity of ['FM deviation', 'FM deviation', 'AM depth', 'FM deviation'] as const)
    await clock.runUntil(meter.read(quantity, wait()))
  expect(said().filter((text) => text !== 'SYST:ERR?' && text !== '*ESR?')).toEqual([
    'FUNC FM',
    ...twice(['READ:FM:DEV?']),
    'READ:FM:DEV?',
    'FUNC AM',
    ...twice(['READ:AM:DEPT?']),
    'FUNC FM',
    ...twice(['READ:FM:DEV?']),
  ])
})
