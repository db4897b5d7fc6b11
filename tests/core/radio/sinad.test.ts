import { describe, expect, test } from 'vitest'
import { distortionFromSinad, sinadFromDistortion, toneOverNoiseDb } from '../../../src/core/radio/sinad.ts'
import vectors from '../../reference/rf_vectors.json' with { type: 'json' }

// definition READ (FED-STD-1037), numbers COMPUTED: tests/reference/rf_vectors.json
describe.each(vectors.sinad)('SINAD $sinad_db dB', (row) => {
  test(`leaves ${row.noise_plus_distortion_percent} % noise and distortion, and back`, () => {
    expect(Math.abs(100 * distortionFromSinad(row.sinad_db) - row.noise_plus_distortion_percent)).toBeLessThan(0.51e-4)
    expect(sinadFromDistortion(distortionFromSinad(row.sinad_db))).toBeCloseTo(row.sinad_db, 12)
  })
  test(`has the tone ${row.signal_to_noise_and_distortion_db} dB over them`, () => {
    expect(Math.abs(toneOverNoiseDb(row.sinad_db) - row.signal_to_noise_and_distortion_db)).toBeLessThan(0.51e-4)
  })
})

test.each(vectors.thd_n_percent_to_sinad_db)('a distortion meter at $percent % is $sinad_db dB SINAD', (row) => {
  expect(Math.abs(sinadFromDistortion(row.percent / 100) - row.sinad_db)).toBeLessThan(0.51e-4)
})

test('0 dB is noise alone', () => {
  expect(sinadFromDistortion(1)).toBeCloseTo(0, 12)
  expect(toneOverNoiseDb(0)).toBe(Number.NEGATIVE_INFINITY)
})
