import { describe, expect, test } from 'vitest'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { openSupplyPort, supplyOn } from '../../src/instrument/supply.ts'
import { instrumentDeps, never, rejectionOf } from '../kit/links/instrument-deps.ts'
import { benchEntry, openScripted } from '../kit/links/open-scripted.ts'
import type { Answer } from '../kit/links/scripted-instrument.ts'

const wait = (ms = 60_000) => ({ ms, signal: never() })
const AT_REST: Record<string, Answer> = {
  'MEAS:VOLT?': '+1.37980E+01',
  'MEAS:CURR?': '+3.0100E-01',
  'OUTP?': '1',
  'SOUR:VOLT:PROT:TRIP?': '0',
  'STAT:QUES:COND?': '2',
  'SOUR:VOLT?': '+1.3800E+01',
  'SOUR:CURR?': '+2.5000E+00',
  'SOUR:VOLT:PROT?': '+1.6500E+01',
}

async function supply(odd: Record<string, Answer> = {}) {
  const stage = await openScripted('supply-scpi', { ...AT_REST, ...odd })
  return { ...stage, port: supplyOn(stage.instrument, stage.clock) }
}

test('opening a supply changes nothing on it: no setting, no reset', async () => {
  const { clock, add, deps } = instrumentDeps()
  const scripted = add('supply', 'EXAMPLE,PS-20,77,1.0', AT_REST)
  const entry = benchEntry('supply', 'supply-scpi', { limits: { voltage: '16.5 V', current: '4 A' } })
  const port = await clock.runUntil(openSupplyPort(entry, loadDriver('drivers', 'supply-scpi'), deps, wait()))
  expect(port.identity).toBe('EXAMPLE,PS-20,77,1.0')
  const settings = scripted.heard
    .map(({ text }) => text)
    .filter((text) => !text.endsWith('?') && !text.startsWith('*ESE'))
  expect(settings).toEqual([])
})

test('the lowest voltage it can be set to is that of the driver', async () => {
  const { instrument, clock } = await openScripted('supply-scpi', AT_REST, (driver) => ({
    ...driver,
    settings: driver.settings.map((row) => (row.name === 'DC voltage' ? { ...row, least: 1.5 } : row)),
  }))
  expect(supplyOn(instrument, clock).leastVolts).toBe(1.5)
})

test('a look at the supply: what it measures, output, regulation, trip, and what is set', async () => {
  const { clock, port } = await supply()
  const beganMs = clock.nowMs()
  const seen = await clock.runUntil(port.readBack(wait()))
  expect(seen).toEqual({
    beganMs,
    atMs: beganMs + 35,
    volts: 13.798,
    amps: 0.301,
    rawAmps: '+3.0100E-01',
    output: 'on',
    regulation: 'voltage',
    tripped: false,
    setVolts: 13.8,
    limitAmps: 2.5,
  })
})

describe('what the supply says of itself', () => {
  test.each([
    ['the current limit rules', { 'STAT:QUES:COND?': '1' }, { regulation: 'current', output: 'on' }],
    ['the output is off', { 'OUTP?': '0' }, { regulation: 'none', output: 'off' }],
    ['it has tripped', { 'SOUR:VOLT:PROT:TRIP?': '1' }, { tripped: true }],
    ['+1 is on', { 'OUTP?': '+1' }, { output: 'on' }],
  ])('%s', async (_name, odd, expected) => {
    const { clock, port } = await supply(odd)
    await expect(clock.runUntil(port.readBack(wait()))).resolves.toMatchObject(expected)
  })
})

describe('a supply that cannot say what it does is unreadable as a whole', () => {
  test.each([
    ['MEAS:CURR?', '9.9E+37', '"9.9E+37" is no answer for DC current'],
    ['MEAS:VOLT?', '1.465E+08', '"1.465E+08" is no answer for DC voltage'],
    ['OUTP?', '2', '"2" is no answer for output'],
    ['STAT:QUES:COND?', 'CV', '"CV" is no answer for regulation'],
    ['SOUR:VOLT:PROT:TRIP?', '', '"" is no answer for tripped'],
    ['SOUR:VOLT?', 'MAX', '"MAX" is no answer for DC voltage'],
  ])('%s answered with %s', async (question, reply, happened) => {
    const { clock, port } = await supply({ [question]: reply === '' ? ' ' : reply })
    const fault = await rejectionOf(clock, port.readBack(wait()))
    expect(fault).toMatchObject({
      code: 'DRIVER_REPLY_UNREADABLE',
      happened: reply === '' ? '" " is no answer for tripped' : happened,
    })
  })
})

test('each setting is followed by a look into the error queue', async () => {
  const { clock, port, said } = await supply()
  await clock.runUntil(port.setAmps(2.5, wait()))
  await clock.runUntil(port.setVolts(15.6, wait()))
  await clock.runUntil(port.output(true, wait()))
  await clock.runUntil(port.output(false, wait()))
  expect(said()).toEqual([
    'SOUR:CURR 2.500',
    'SYST:ERR?',
    'SOUR:VOLT 15.600',
    'SYST:ERR?',
    'OUTP ON',
    'SYST:ERR?',
    'OUTP OFF',
    'SYST:ERR?',
  ])
})

test('the trip is read back: 16.5 V asked and 16.5 V found passes, 17 V is refused', async () => {
  const { clock, port, scripted } = await supply()
  await clock.runUntil(port.setTrip(16.5, wait()))
  scripted.answers['SOUR:VOLT:PROT?'] = '+1.7000E+01'
  await expect(rejectionOf(clock, port.setTrip(16.5, wait()))).resolves.toMatchObject({
    message:
      'unit (supply-scpi at memory:unit): over-voltage trip was set to 16.5 V and reads back as 17 V. Check the instrument front panel and its limits [INSTRUMENT_SETTING_DIFFERS]',
  })
})

test('a look at a silent supply ends within the time it was given: 1.5 s', async () => {
  const { clock, port } = await supply({ 'MEAS:CURR?': null })
  const beganMs = clock.nowMs()
  await expect(rejectionOf(clock, port.readBack(wait(1500)))).resolves.toMatchObject({
    code: 'TRANSPORT_REPLY_TIMEOUT',
  })
  expect(clock.nowMs() - beganMs).toBeCloseTo(1500, 6)
})

test('a driver that is no supply is refused, and its link is closed', async () => {
  const { clock, add, deps } = instrumentDeps()
  add('supply', 'EXAMPLE,PM-3,1182,2.1', {})
  const opening = openSupplyPort(
    benchEntry('supply', 'power-meter-scpi'),
    loadDriver('drivers', 'power-meter-scpi'),
    deps,
    wait(),
  )
  await expect(rejectionOf(clock, opening)).resolves.toMatchObject({
    code: 'DRIVER_NO_SUCH_ROW',
    happened: 'power-meter-scpi does not set DC voltage',
  })
})
