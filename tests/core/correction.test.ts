import { describe, expect, test } from 'vitest'
import { correct, gainOf, sigmaOf, uncertainty } from '../../src/core/correction.ts'
import { METER_FACTS } from '../kit/meter-facts.ts'

describe('correction to what the set gives', () => {
  test('3.85 mW behind 30 dB is 3.85 W, and says so', () => {
    const { value, chain } = correct(3.85e-3, METER_FACTS.power)
    expect(value).toBeCloseTo(3.85, 9)
    expect(chain).toEqual(['path loss 30 dB: x 1000.0'])
  })

  test('0.4 dB of cable forgotten would be almost 10 %', () => {
    expect(correct(1, { ...METER_FACTS.power, pathLossDb: 0.4 }).value).toBeCloseTo(1.0965, 4)
  })

  test('2.376 V on a 10 Mohm meter behind 100 kohm is 2.40 V', () => {
    const { value, chain } = correct(2.376, METER_FACTS.volts, { seriesOhms: 100e3 })
    expect(value).toBeCloseTo(2.4, 3)
    expect(chain).toEqual(['10 Mohm meter behind 100 kohm: x 1.0100'])
  })

  test('nothing in the way leaves the value and the chain alone', () => {
    expect(correct(2.4, METER_FACTS.volts)).toEqual({ value: 2.4, chain: [] })
    expect(correct(2.4, { ...METER_FACTS.volts, inputOhms: null }, { seriesOhms: 1e5 })).toEqual({
      value: 2.4,
      chain: [],
    })
  })

  test('a path loss never touches a frequency or a deviation', () => {
    expect(correct(27.205e6, { ...METER_FACTS.counter, pathLossDb: 40 }).value).toBe(27.205e6)
    expect(correct(1800, { ...METER_FACTS.modulation, pathLossDb: 40 }).value).toBe(1800)
  })

  test('a step of 0.01 mW behind 30 dB is 10 mW at the set', () => {
    expect(METER_FACTS.power.step * gainOf(METER_FACTS.power)).toBeCloseTo(0.01, 9)
  })
})

describe('expanded uncertainty, k = 2 (budget rows computed for the trade notes)', () => {
  test('27.205 MHz by a 0.5 ppm time base: 13.6 Hz rectangular is 16 to 18 Hz', () => {
    const hz = uncertainty(27.205e6, METER_FACTS.counter)
    expect(hz).toBeGreaterThan(15.7)
    expect(hz).toBeLessThan(18)
  })

  test('2.40 V by a 0.3 % meter: 8 mV', () => {
    expect(uncertainty(2.4, METER_FACTS.volts, { count: 8 }) * 1e3).toBeCloseTo(8.4, 1)
  })

  test('1.80 kHz by a 3 % modulation meter: 0.068 kHz; by a 5 % one: 0.11 kHz', () => {
    expect(uncertainty(1800, METER_FACTS.modulation, { count: 4 }) / 1e3).toBeCloseTo(0.068, 2)
    const coarse = { ...METER_FACTS.modulation, accuracy: { ofReading: 0.05, floor: 0 } }
    expect(uncertainty(1800, coarse, { count: 4 }) / 1e3).toBeCloseTo(0.11, 2)
  })

  test('5 % of a full scale of 10 W at the meter counts in watts at the set: 0.58 W of the 0.62 W', () => {
    const facts = { ...METER_FACTS.power, accuracy: { ofReading: 0, floor: 0.5e-3 }, noise: { ofReading: 0, floor: 0 } }
    expect(uncertainty(4, facts)).toBeCloseTo(0.577, 2)
  })

  test('noise falls with the root of the number of readings', () => {
    const facts = { ...METER_FACTS.modulation, accuracy: { ofReading: 0, floor: 0 }, step: 0 }
    expect(uncertainty(1800, facts, { count: 16 })).toBeCloseTo(uncertainty(1800, facts) / 4, 9)
    expect(sigmaOf(1800, facts)).toBe(25)
  })
})
