import { describe, expect, test } from 'vitest'
import { correct, gainOf, sigmaOf } from '../../../src/core/uncertainty/correction.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

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
    expect(correct(2.4, METER_FACTS.volts, { seriesOhms: 0 })).toEqual({ value: 2.4, chain: [] })
    expect(correct(2.4, { ...METER_FACTS.power, pathLossDb: 0 })).toEqual({ value: 2.4, chain: [] })
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

test('usual noise of one reading: its share of the value and its floor as it is worth at the set', () => {
  expect(sigmaOf(1800, METER_FACTS.modulation)).toBe(25)
  const facts = { ...METER_FACTS.power, noise: { ofReading: 0.01, floor: 0.03e-3 } }
  expect(sigmaOf(4, facts)).toBeCloseTo(0.05, 12)
})
