import { expect, test } from 'vitest'
import { loadDriver } from '../../../src/instrument/load-driver.ts'
import { meterFacts } from '../../../src/schema/files/meter-facts.ts'
import { benchEntry } from '../../kit/links/open-scripted.ts'

test('facts come from the row: counter, 1 s gate, 1 Hz step, 0.5 ppm and 1 Hz', () => {
  expect(meterFacts(benchEntry('counter', 'counter-scpi'), loadDriver('drivers', 'counter-scpi'), 'frequency')).toEqual(
    {
      quantity: 'frequency',
      unit: 'Hz',
      instrument: 'counter',
      driver: 'counter-scpi',
      everyMs: 1050,
      latencyMs: 1050,
      recoverMs: 0,
      gateMs: 1000,
      step: 1,
      noise: { ofReading: 0, floor: 0.6 },
      smoothing: 0,
      accuracy: { ofReading: 0.5e-6, floor: 1 },
      pathLossDb: 0,
      inputOhms: null,
      inputIsolated: 'yes',
      typed: false,
    },
  )
})

test('what the bench file says of its own meter goes first: 2.5 % and 10 uW instead of 5 %, 30.2 dB before the head', () => {
  const entry = benchEntry('power', 'power-meter-scpi', {
    'path loss': '30.2 dB',
    accuracy: { 'of reading': '2.5 %', and: '10 uW' },
  })
  const facts = meterFacts(entry, loadDriver('drivers', 'power-meter-scpi'), 'RF power')
  expect(facts).toMatchObject({ accuracy: { ofReading: 0.025, floor: 10e-6 }, pathLossDb: 30.2, step: 10e-6 })
})

test('how well the path is known and the standing wave ratios go with a power, and with nothing else', () => {
  const stated = { 'path loss within': '0.1 dB', vswr: { set: '1.5', meter: '1.2' } }
  const power = loadDriver('drivers', 'power-meter-scpi')
  expect(meterFacts(benchEntry('power', power.id, stated), power, 'RF power')).toMatchObject({
    pathLossUncertaintyDb: 0.1,
    vswr: { set: 1.5, meter: 1.2 },
  })
  const volts = loadDriver('drivers', 'multimeter-scpi')
  for (const facts of [
    meterFacts(benchEntry('power', power.id), power, 'RF power'),
    meterFacts(benchEntry('volts', volts.id, stated), volts, 'DC voltage'),
  ]) {
    expect(facts).not.toHaveProperty('pathLossUncertaintyDb')
    expect(facts).not.toHaveProperty('vswr')
  }
})

test('the input resistance is the driver’s 10 Mohm, or the bench file’s 1 Mohm', () => {
  const driver = loadDriver('drivers', 'multimeter-scpi')
  expect(meterFacts(benchEntry('volts', driver.id), driver, 'DC voltage').inputOhms).toBe(10e6)
  const old = benchEntry('volts', driver.id, { 'input resistance': '1 Mohm' })
  expect(meterFacts(old, driver, 'DC voltage').inputOhms).toBe(1e6)
})

test('a path loss is nothing to a voltmeter, and a modulation meter needs 1 s after key-down', () => {
  const volts = benchEntry('volts', 'multimeter-scpi', { 'path loss': '30 dB' })
  expect(meterFacts(volts, loadDriver('drivers', 'multimeter-scpi'), 'DC voltage').pathLossDb).toBe(0)
  const modulation = loadDriver('drivers', 'modulation-meter-scpi')
  expect(meterFacts(benchEntry('modmeter', modulation.id), modulation, 'FM deviation').recoverMs).toBe(1000)
})

test('a quantity without a row is a mistake of the program', () => {
  expect(() =>
    meterFacts(benchEntry('volts', 'multimeter-scpi'), loadDriver('drivers', 'multimeter-scpi'), 'SINAD'),
  ).toThrow(TypeError)
})
