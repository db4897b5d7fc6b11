import { describe, expect, test } from 'vitest'
import { type Cause, counts, holdOffMs } from '../../../src/core/reading/hold-off.ts'
import type { MeterFacts, Reading } from '../../../src/schema/kept/reading.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

describe('hold-off by cause', () => {
  test.each<[Cause, keyof typeof METER_FACTS, number]>([
    ['supply', 'volts', 2000],
    ['supply', 'counter', 2000],
    ['key', 'power', 500],
    ['key', 'modulation', 1000],
    ['key', 'counter', 500],
    ['channel', 'volts', 600],
    ['level', 'power', 900],
    ['tone', 'modulation', 3000],
    ['tone', 'counter', 0],
    ['channel', 'counter', 0],
    ['function', 'power', 900],
    ['hand', 'volts', 600],
  ])('after %s the %s waits %d ms', (cause, meter, ms) => {
    expect(holdOffMs(cause, METER_FACTS[meter])).toBe(ms)
  })
})

describe('which readings count', () => {
  const reading = (changes: Partial<Reading>): Reading => ({
    quantity: 'RF power',
    instrument: 'power',
    epoch: 7,
    beganMs: 10_900,
    arrivedMs: 10_950,
    raw: '3.85',
    value: 3.85,
    state: 'good',
    ...changes,
  })
  const facts: MeterFacts = METER_FACTS.power
  const change = { epoch: 7, atMs: 10_000, cause: 'level' as const }

  test.each([
    ['began 900 ms after a level change', {}, true],
    ['began 899 ms after it', { beganMs: 10_899 }, false],
    ['began before it and arrived late', { beganMs: 9_990, arrivedMs: 12_000 }, false],
    ['belongs to the epoch before', { epoch: 6 }, false],
    ['belongs to an epoch that this change knows nothing of', { epoch: 8 }, false],
  ])('a reading that %s', (_, changes, counted) => {
    expect(counts(reading(changes), change, facts)).toBe(counted)
  })

  test('a counter counts from the first gate that began after the change, and no gate that was open then', () => {
    const since = { epoch: 7, atMs: 10_000, cause: 'channel' as const }
    expect(counts(reading({ beganMs: 9_999, arrivedMs: 10_999 }), since, METER_FACTS.counter)).toBe(false)
    expect(counts(reading({ beganMs: 10_001, arrivedMs: 11_001 }), since, METER_FACTS.counter)).toBe(true)
  })
})
