import { describe, expect, test } from 'vitest'
import {
  carsonHz,
  checkByNull,
  deviationAtNullHz,
  modulationIndex,
  nullDoubt,
  nullToneHz,
  sidebandsDb,
} from '../../../src/core/radio/fm.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import bessel from '../../reference/bessel.json' with { type: 'json' }
import vectors from '../../reference/rf_vectors.json' with { type: 'json' }

/** Tables of lists, as rows: key, place in the list from 1, value. */
function rowsOf(table: Readonly<Record<string, readonly number[]>>) {
  return Object.entries(table).flatMap(([key, list]) =>
    list.map((value, index) => ({ of: Number(key), which: index + 1, value })),
  )
}

describe('carrier nulls (COMPUTED; tests/reference/bessel.json)', () => {
  test.each(rowsOf(bessel.carrier_null_tone_hz))('$of Hz deviation: null $which at a tone of $value Hz', (row) => {
    expect(Math.abs(nullToneHz(row.of, row.which) - row.value)).toBeLessThan(0.51e-4)
  })

  test.each(rowsOf(bessel.deviation_at_null_hz_for_tone))('tone $of Hz: null $which is $value Hz deviation', (row) => {
    expect(Math.abs(deviationAtNullHz(row.of, row.which) - row.value)).toBeLessThan(0.51e-3)
  })

  test.each(bessel.published_check)('$deviation_hz Hz, null $null: $tone_hz Hz ($mark)', (row) => {
    expect(Math.abs(nullToneHz(row.deviation_hz, row.null) - row.tone_hz)).toBeLessThan(1)
  })

  test.each(Object.entries(bessel.deviation_error_bound_percent_for_null_depth_db))(
    'a null %s dB deep is right to %d %%',
    (depthDb, percent) => expect(100 * nullDoubt(Number(depthDb))).toBeCloseTo(percent, 2),
  )
})

test.each(rowsOf(bessel.sideband_level_dbc_unmodulated_carrier))(
  'index $of: level $which (carrier first) is $value dB',
  ({ of, which, value }) => {
    expect(Math.abs((sidebandsDb(of, 6)[which - 1] ?? 0) - value)).toBeLessThan(0.51e-3)
  },
)

test('60 % of 4 kHz at 1 kHz is an index of 2.4: 0.2 % from the null, the carrier falls to -52.0 dB (COMPUTED)', () => {
  expect(modulationIndex(2400, 1000)).toBe(2.4)
  expect(sidebandsDb(2.4, 0)[0]).toBeCloseTo(-52.0, 1)
})

test.each(vectors.carson)(
  '$deviation_khz kHz deviation and $audio_khz kHz tone take $bandwidth_khz kHz (Carson)',
  (row) => {
    expect(carsonHz(row.deviation_khz * 1e3, row.audio_khz * 1e3)).toBe(row.bandwidth_khz * 1e3)
  },
)

describe('a modulation meter held against a carrier null', () => {
  test('that shows 2.455 kHz at the first null of 1 kHz shows 2.1 % too much; 30 dB deep is right to 2.5 %', () => {
    const check = checkByNull({ toneHz: 1000, shownHz: 2455, depthDb: 30 })
    expect(check.trueHz).toBeCloseTo(2404.826, 3)
    expect(check.error).toBeCloseTo(0.02086, 5)
    expect(check.doubt).toBeCloseTo(0.02533, 5)
    expect(sentence(check.words)).toBe(
      'At 1.000 kHz the first carrier null is 2.405 kHz deviation, the meter shows 2.455 kHz: 2.1 % too much; a null 30 dB deep is right to 2.5 %',
    )
  })

  test('that shows 4.75 kHz at 2079.15 Hz shows 5 % too little; nobody saw how deep it was', () => {
    const check = checkByNull({ toneHz: 2079.1529, shownHz: 4750 })
    expect(check.error).toBeCloseTo(-0.05, 6)
    expect(check.doubt).toBeNull()
    expect(sentence(check.words)).toBe(
      'At 2.079 kHz the first carrier null is 5.000 kHz deviation, the meter shows 4.750 kHz: 5.0 % too little',
    )
  })

  test('that shows the second null when the first was meant: the words ask', () => {
    expect(sentence(checkByNull({ toneHz: 1000, shownHz: 5480 }).words)).toBe(
      'At 1.000 kHz the first carrier null is 2.405 kHz deviation, the meter shows 5.480 kHz: is it the second null?',
    )
    expect(sentence(checkByNull({ toneHz: 1000, shownHz: 5480, which: 2 }).words)).toContain('0.7 % too little')
  })

  test('that is right says so; half of what is true is an error, not another null', () => {
    expect(sentence(checkByNull({ toneHz: 1000, shownHz: 2404.9 }).words)).toContain(': it is right')
    expect(sentence(checkByNull({ toneHz: 1000, shownHz: 1202.4 }).words)).toContain('50.0 % too little')
  })
})
