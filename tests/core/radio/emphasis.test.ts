import { describe, expect, test } from 'vitest'
import { cornerHz, emphasisDb, sixPerOctaveDb } from '../../../src/core/radio/emphasis.ts'
import vectors from '../../reference/rf_vectors.json' with { type: 'json' }

// COMPUTED; a corner of 2.12 kHz for 75 us READ. That land mobile uses 750 us is MEMORY: nothing rests on it here
describe.each(vectors.emphasis)('a network of $tau_us us', ({ tau_us, corner_hz, gain_db_rel_1khz }) => {
  test(`has its corner at ${corner_hz} Hz`, () => {
    expect(Math.abs(cornerHz(tau_us * 1e-6) - corner_hz)).toBeLessThan(0.51e-3)
  })
  test.each(Object.entries(gain_db_rel_1khz))('does to %s Hz %d dB against 1 kHz', (tone, db) => {
    expect(Math.abs(emphasisDb(Number(tone), tau_us * 1e-6) - db)).toBeLessThan(0.51e-3)
  })
  test('does nothing to 1 kHz itself', () => expect(emphasisDb(1000, tau_us * 1e-6)).toBe(0))
})

test.each(Object.entries(vectors.ideal_6db_octave_db_rel_1khz))('6 dB an octave does to %s Hz %d dB', (tone, db) => {
  expect(Math.abs(sixPerOctaveDb(Number(tone)) - db)).toBeLessThan(0.51e-3)
})

test('far above its corner a network comes to 6 dB an octave: within 0.01 dB from 10 to 20 kHz at 750 us', () => {
  expect(emphasisDb(20_000, 750e-6, 10_000)).toBeCloseTo(sixPerOctaveDb(20_000, 10_000), 2)
})
