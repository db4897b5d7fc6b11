import { describe, expect, test } from 'vitest'
import { settleRule, trueForS } from '../../../src/core/settling/settle-rule.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

describe('the change that does not matter', () => {
  test.each([
    ['control volts 2.2 to 2.6 V', METER_FACTS.volts, 0.2, 0.05, 5],
    ['frequency +-150 Hz', METER_FACTS.counter, 150, 37.5, 10],
    ['power 3.6 to 4.0 W', METER_FACTS.power, 0.2, 0.05, 5],
    ['deviation 1.60 to 1.95 kHz', METER_FACTS.modulation, 175, 43.75, 5],
  ])('%s', (_, facts, halfWidth, delta, seconds) => {
    const rule = settleRule({ halfWidth, facts })
    expect(rule.delta).toBeCloseTo(delta, 9)
    expect(rule.trueForS).toBe(seconds)
  })

  test('is never less than two display steps, counted at the set: 0.1 mW behind 30 dB makes 0.2 W', () => {
    expect(settleRule({ halfWidth: 0.2, facts: { ...METER_FACTS.power, step: 0.1e-3 } }).delta).toBeCloseTo(0.2, 9)
  })

  test('is 0.05 dB of whatever is shown while peaking: 1.16 % of a power, 0.58 % of a voltage', () => {
    expect(settleRule({ halfWidth: null, facts: METER_FACTS.power }).deltaOfReading).toBeCloseTo(0.01158, 5)
    expect(settleRule({ halfWidth: null, facts: METER_FACTS.volts }).deltaOfReading).toBeCloseTo(0.00577, 5)
  })

  test('SINAD is in dB already and must hold for 3 s', () => {
    const facts = { ...METER_FACTS.volts, quantity: 'SINAD', unit: 'dB', step: 0.1 } as const
    expect(settleRule({ halfWidth: null, facts })).toMatchObject({ delta: 0.5, deltaOfReading: 0, trueForS: 3 })
    expect(trueForS('audio distortion')).toBe(3)
  })
})
