import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { readAbout, readRange, readValue } from '../../src/quantity/parse-value.ts'
import type { Unit } from '../../src/quantity/quantity.ts'
import levels from '../reference/rf_levels.json' with { type: 'json' }

type Row = readonly [text: string, unit: Unit, value: number]
type Refusal = readonly [text: string, unit: Unit, refused: string]

const V_SPELLINGS = 'V, mV, uV, nV, kV or dBm'
const HZ_SPELLINGS = 'Hz, kHz, MHz or GHz'
const W_SPELLINGS = 'W, mW, uW, nW, pW, kW or dBm'

describe('one value', () => {
  test.each<Row>([
    ['13.8 V', 'V', 13.8],
    ['13.8V', 'V', 13.8],
    ['  13.80   V ', 'V', 13.8],
    ['250 mA', 'A', 0.25],
    ['1.60 kHz', 'Hz', 1600],
    ['27.205 MHz', 'Hz', 27_205_000],
    ['1.2 GHz', 'Hz', 1_200_000_000],
    ['30.2 dB', 'dB', 30.2],
    ['20 s', 's', 20],
    ['200 ms', 's', 0.2],
    ['2 min', 's', 120],
    ['1.1 min', 's', 66],
    ['0.5 uV', 'V', 5e-7],
    ['240 nV', 'V', 2.4e-7],
    ['85 %', 'ratio', 0.85],
    ['5 ppm', 'ratio', 5e-6],
    ['100 ppb', 'ratio', 1e-7],
    ['1e-3 W', 'W', 0.001],
    ['1E-3 W', 'W', 0.001],
    ['1.5e+3 mW', 'W', 1.5],
    ['+5 V', 'V', 5],
    ['-12.5 V', 'V', -12.5],
    ['0 V', 'V', 0],
    ['-0 V', 'V', 0],
    ['10 Mohm', 'ohm', 1e7],
    ['80 mohm', 'ohm', 0.08],
    ['0.2 kV', 'V', 200],
    ['9 S', 'S', 9],
    ['S9', 'S', 9],
    ['S 9.5', 'S', 9.5],
  ])('"%s" in %s is %d', (text, unit, value) => {
    expect(readValue(text, unit)).toEqual({ ok: true, value })
  })

  test.each<readonly [name: string, unit: Unit, value: number, spellings: readonly string[]]>([
    ['micro: the sign, the Greek letter, u', 'V', 5e-7, ['0.5 \u00b5V', '0.5 \u03bcV', '0.5 uV', '0.5\u00b5V']],
    ['ohm: the word, the Greek letter, the ohm sign', 'ohm', 1e5, ['100 kohm', '100 k\u03a9', '100 k\u2126']],
    ['minus: hyphen and minus sign', 'V', -5, ['-5 V', '\u22125 V']],
    [
      'blanks: plain, none, no-break, thin, narrow no-break, tabulator',
      'V',
      13.8,
      ['13.8 V', '13.8V', '13.8\u00a0V', '13.8\u2009V', '13.8\u202fV', '\u00a013.8\tV\u2009'],
    ],
  ])('%s give the same number', (_name, unit, value, spellings) => {
    expect(spellings.map((text) => readValue(text, unit))).toEqual(spellings.map(() => ({ ok: true, value })))
  })

  test.each([
    ['30 dBm', 'W', 1],
    ['0 dBm', 'W', 0.001],
    ['-47 dBm', 'W', 1.995262e-8],
    ['-47 dBm', 'V', 998.81e-6],
    ['\u221247\u00a0dBm', 'V', 998.81e-6],
    ['-106.9897 dBm', 'V', 1e-6],
    ['13.0103 dBm', 'V', 1],
  ] as const)('"%s" in %s is %d within 0.001 %%, volts being p.d. across 50 ohm', (text, unit, value) => {
    const read = readValue(text, unit)
    expect(read.ok && Math.abs(read.value / value - 1)).toBeLessThan(1e-5)
  })

  test.each<Refusal>([
    ['', 'V', 'Nothing was written: write a number and its unit, such as 13.8 V'],
    [' \u00a0 ', 'Hz', 'Nothing was written: write a number and its unit, such as 27.205 MHz'],
    ['13,8 V', 'V', '"13,8 V" has a comma: write a decimal point, not a comma, and nothing between thousands'],
    [
      '27,205,000 Hz',
      'Hz',
      '"27,205,000 Hz" has a comma: write a decimal point, not a comma, and nothing between thousands',
    ],
    ['15.6', 'V', `"15.6" has no unit: write ${V_SPELLINGS} behind it`],
    ['1e5', 'Hz', `"1e5" has no unit: write ${HZ_SPELLINGS} behind it`],
    ['0.85', 'ratio', '"0.85" has no unit: write %, ppm or ppb behind it'],
    ['30', 'dB', '"30" has no unit: write dB behind it'],
    ['NaN', 'V', '"NaN" does not begin with a number: write it like 13.8 V'],
    ['NaN V', 'V', '"NaN V" does not begin with a number: write it like 13.8 V'],
    ['Infinity', 'W', '"Infinity" does not begin with a number: write it like 3.85 W'],
    ['-Infinity V', 'V', '"-Infinity V" does not begin with a number: write it like 13.8 V'],
    ['V', 'V', '"V" does not begin with a number: write it like 13.8 V'],
    ['- 5 V', 'V', '"- 5 V" does not begin with a number: write it like 13.8 V'],
    ['\u20135 V', 'V', '"\u20135 V" begins with a dash: write the minus sign -'],
    ['.5 V', 'V', '".5 V" needs a digit on both sides of the decimal point'],
    ['5. V', 'V', '"5. V" needs a digit on both sides of the decimal point'],
    ['13.8 14 V', 'V', '"13.8 14 V" holds more than one number: write one, without blanks inside, such as 13.8 V'],
    ['13.8 V 14 V', 'V', '"13.8 V 14 V" holds more than one number: write one, without blanks inside, such as 13.8 V'],
    [
      '13.8 V .. 14 V',
      'V',
      '"13.8 V .. 14 V" holds more than one number: write one, without blanks inside, such as 13.8 V',
    ],
    [
      '156.725 000 MHz',
      'Hz',
      '"156.725 000 MHz" holds more than one number: write one, without blanks inside, such as 27.205 MHz',
    ],
    ['1.2.3 V', 'V', '"1.2.3 V" holds more than one number: write one, without blanks inside, such as 13.8 V'],
    ['0x10 V', 'V', '"0x10 V" holds more than one number: write one, without blanks inside, such as 13.8 V'],
    ['27 MHz', 'V', `"27 MHz" is in MHz, but V is wanted: write ${V_SPELLINGS}`],
    ['13.8 V', 'Hz', `"13.8 V" is in V, but Hz is wanted: write ${HZ_SPELLINGS}`],
    ['5 volts', 'Hz', `"5 volts" is in volts, but Hz is wanted: write ${HZ_SPELLINGS}`],
    ['30 dB', 'W', `"30 dB" is in dB, but W is wanted: write ${W_SPELLINGS}`],
    ['30 dBm', 'dB', '"30 dBm" is in dBm, but dB is wanted: write dB'],
    ['20 dB', 'ratio', '"20 dB" is in dB, but a share is wanted: write %, ppm or ppb'],
    ['5 V', 'S', '"5 V" is in V, but S units are wanted: write S'],
    ['5 xV', 'V', `"5 xV" has no unit known here (xV): write ${V_SPELLINGS}`],
    ['5 GV', 'V', `"5 GV" has no unit known here (GV): write ${V_SPELLINGS}`],
    ['5 m V', 'V', `"5 m V" has no unit known here (m V): write ${V_SPELLINGS}`],
    ['5 k', 'Hz', `"5 k" has no unit known here (k): write ${HZ_SPELLINGS}`],
    ['5 constructor', 'Hz', `"5 constructor" has no unit known here (constructor): write ${HZ_SPELLINGS}`],
    ['5 MW', 'W', '"5 MW" is spelled wrongly: write mW, not MW (m is milli, M is mega)'],
    ['13.8 MV', 'V', '"13.8 MV" is spelled wrongly: write mV, not MV (m is milli, M is mega)'],
    ['250 MA', 'A', '"250 MA" is spelled wrongly: write mA, not MA (m is milli, M is mega)'],
    ['27.205 mHz', 'Hz', '"27.205 mHz" is spelled wrongly: write MHz, not mHz (m is milli, M is mega)'],
    ['27.205 mhz', 'Hz', '"27.205 mhz" is spelled wrongly: write MHz, not mhz (m is milli, M is mega)'],
    ['27.205 Mhz', 'Hz', '"27.205 Mhz" is spelled wrongly: write MHz, not Mhz'],
    ['1.6 khz', 'Hz', '"1.6 khz" is spelled wrongly: write kHz, not khz'],
    ['1.6 KHz', 'Hz', '"1.6 KHz" is spelled wrongly: write kHz, not KHz'],
    ['10 MOHM', 'ohm', '"10 MOHM" is spelled wrongly: write mohm or Mohm, not MOHM (m is milli, M is mega)'],
    ['100 kOhm', 'ohm', '"100 kOhm" is spelled wrongly: write kohm, not kOhm'],
    ['5 volts', 'V', '"5 volts" is spelled wrongly: write V, not volts'],
    ['2 Min', 's', '"2 Min" is spelled wrongly: write min, not Min'],
    ['20 S', 's', '"20 S" is spelled wrongly: write s, not S'],
    ['85 per cent', 'ratio', '"85 per cent" is spelled wrongly: write %, not per cent'],
    ['6 dBuV', 'V', '"6 dBuV" is in dBuV, which may mean e.m.f. or p.d.: write uV or dBm across 50 ohm'],
    ['S9+20 dB', 'S', '"S9+20 dB" counts in dB over a mark: write S units only, such as 9 S'],
    ['1e400 V', 'V', '"1e400 V" is too large or too small to be real'],
    ['1e308 kV', 'V', '"1e308 kV" is too large or too small to be real'],
    ['1e-400 V', 'V', '"1e-400 V" is too large or too small to be real'],
    ['1e-320 uV', 'V', '"1e-320 uV" is too large or too small to be real'],
    ['1e9 dBm', 'W', '"1e9 dBm" is too large or too small to be real'],
    ['-1e9 dBm', 'V', '"-1e9 dBm" is too large or too small to be real'],
    [`${'9'.repeat(120)} V`, 'V', `"${'9'.repeat(59)}\u2026" is too long: write a number and its unit, such as 13.8 V`],
  ])('"%s" in %s is refused: %s', (text, unit, refused) => {
    expect(readValue(text, unit)).toEqual({ ok: false, refused })
  })

  test('a frequency in whole Hz is the same number in Hz, kHz, MHz, GHz and with an exponent', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 2_000_000_000 }), (hz) => {
        const spellings = [
          `${hz} Hz`,
          `${pointed(hz, 3)} kHz`,
          `${pointed(hz, 6)}MHz`,
          `+${pointed(hz, 9)} GHz`,
          `${pointed(hz, 4)}e4 Hz`,
          `${hz}E-3\u00a0kHz`,
        ]
        expect(spellings.map((text) => readValue(text, 'Hz'))).toEqual(spellings.map(() => ({ ok: true, value: hz })))
      }),
    )
  })

  test('a voltage in whole nV is the same number in nV, uV with each micro sign, mV, V and kV', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 2_000_000_000 }), (nanovolts) => {
        const spellings = [
          `${nanovolts} nV`,
          `${pointed(nanovolts, 3)} uV`,
          `${pointed(nanovolts, 3)} \u00b5V`,
          `${pointed(nanovolts, 3)} \u03bcV`,
          `${pointed(nanovolts, 6)} mV`,
          `${pointed(nanovolts, 9)} V`,
          `${pointed(nanovolts, 12)} kV`,
        ]
        const value = Number(`${nanovolts}e-9`)
        expect(spellings.map((text) => readValue(text, 'V'))).toEqual(spellings.map(() => ({ ok: true, value })))
      }),
    )
  })

  test('any text at all is read or refused in words, never thrown at and never read as NaN or infinity', () => {
    const pieces = fc.constantFrom(
      '1',
      '27.205',
      '.',
      ',',
      '-',
      '\u2212',
      '+-',
      ' ',
      'e',
      'k',
      'M',
      'V',
      'Hz',
      'dBm',
      '%',
      '..',
      'S',
    )
    const text = fc.oneof(
      fc.string(),
      fc.array(pieces, { maxLength: 8 }).map((list) => list.join('')),
    )
    const units = fc.constantFrom<Unit>('Hz', 'W', 'V', 'A', 'ohm', 's', 'ratio', 'dB', 'S')
    fc.assert(
      fc.property(text, units, (written, unit) => {
        const read = readValue(written, unit)
        expect(read.ok ? Number.isFinite(read.value) : read.refused.length > 10).toBe(true)
        const range = readRange(written, unit)
        expect(range.ok ? range.value.low < range.value.high : range.refused.length > 10).toBe(true)
        const about = readAbout(written, unit)
        expect(about.ok ? about.value.plusMinus > 0 : about.refused.length > 10).toBe(true)
      }),
      { numRuns: 500 },
    )
  })
})

describe('a range', () => {
  test.each<readonly [text: string, unit: Unit, low: number, high: number]>([
    ['1.60 .. 1.95 kHz', 'Hz', 1600, 1950],
    ['1.60 kHz .. 1.95 kHz', 'Hz', 1600, 1950],
    ['1.60\u20131.95 kHz', 'Hz', 1600, 1950],
    ['1.60 \u2013 1.95 kHz', 'Hz', 1600, 1950],
    ['1.60 ... 1.95 kHz', 'Hz', 1600, 1950],
    ['1.60...1.95 kHz', 'Hz', 1600, 1950],
    ['1.60..1.95kHz', 'Hz', 1600, 1950],
    ['1.60 \u2026 1.95 kHz', 'Hz', 1600, 1950],
    ['1.60\u00a0..\u00a01.95\u2009kHz', 'Hz', 1600, 1950],
    ['0 .. 4 A', 'A', 0, 4],
    ['-5 .. 5 V', 'V', -5, 5],
    ['\u22125 .. +5 V', 'V', -5, 5],
    ['800 Hz .. 1.2 kHz', 'Hz', 800, 1200],
    ['80 .. 90 %', 'ratio', 0.8, 0.9],
    ['S8 .. S9', 'S', 8, 9],
    ['20 .. 30 dBm', 'W', 0.1, 1],
  ])('"%s" in %s runs from %d to %d', (text, unit, low, high) => {
    expect(readRange(text, unit)).toEqual({ ok: true, value: { low, high } })
  })

  test.each<Refusal>([
    ['', 'V', 'Nothing was written: write the two ends, such as 2.20 .. 2.60 V'],
    ['5 V', 'V', '"5 V" is not a range: write the two ends, such as 2.20 .. 2.60 V'],
    ['.. 5 V', 'V', '".. 5 V" is not a range: write the two ends, such as 2.20 .. 2.60 V'],
    ['5 V ..', 'V', '"5 V .." is not a range: write the two ends, such as 2.20 .. 2.60 V'],
    ['1 .. 2 .. 3 V', 'V', '"1 .. 2 .. 3 V" is not a range: write the two ends, such as 2.20 .. 2.60 V'],
    ['3.6-3.9 W', 'W', '"3.6-3.9 W" needs two points between its ends: write it like 3.6 .. 3.9 W'],
    ['3.6 W \u2212 3.9 W', 'W', '"3.6 W \u2212 3.9 W" needs two points between its ends: write it like 3.6 .. 3.9 W'],
    ['3.6 to 3.9 W', 'W', '"3.6 to 3.9 W" needs two points between its ends: write it like 3.6 .. 3.9 W'],
    ['4 .. 0 A', 'A', '"4 .. 0 A" runs from 4 A to 0 A: write the lower end first'],
    ['4 .. 4 A', 'A', '"4 .. 4 A" runs from 4 A to 4 A: write the lower end first'],
    [
      '1 .. 1.00000000000000000001 V',
      'V',
      '"1 .. 1.00000000000000000001 V" runs from 1 V to 1.00000000000000000001 V: write the lower end first',
    ],
    ['500 .. 1.5 kHz', 'Hz', '"500 .. 1.5 kHz" runs from 500 kHz to 1.5 kHz: write the lower end first'],
    ['1.60 .. 1.95', 'Hz', `"1.95" has no unit: write ${HZ_SPELLINGS} behind it`],
    ['1.60 kHz .. 1.95', 'Hz', `"1.95" has no unit: write ${HZ_SPELLINGS} behind it`],
    ['1.60 .. 1.95 khz', 'Hz', '"1.95 khz" is spelled wrongly: write kHz, not khz'],
    ['1 A .. 2 V', 'V', `"1 A" is in A, but V is wanted: write ${V_SPELLINGS}`],
    ['1,6 .. 1.95 kHz', 'Hz', '"1,6" has a comma: write a decimal point, not a comma, and nothing between thousands'],
    ['0 .. .5 A', 'A', '".5 A" needs a digit on both sides of the decimal point'],
    ['0....5 A', 'A', '".5 A" needs a digit on both sides of the decimal point'],
  ])('"%s" in %s is refused: %s', (text, unit, refused) => {
    expect(readRange(text, unit)).toEqual({ ok: false, refused })
  })
})

describe('a value with a plus-minus', () => {
  test.each<readonly [text: string, unit: Unit, centre: number, plusMinus: number]>([
    ['3.85 W +- 0.05 W', 'W', 3.85, 0.05],
    ['3.85 +- 0.05 W', 'W', 3.85, 0.05],
    ['3.85 W \u00b1 50 mW', 'W', 3.85, 0.05],
    ['3.85 W+/-0.05W', 'W', 3.85, 0.05],
    ['3.85 W +\u2212 0.05 W', 'W', 3.85, 0.05],
    ['3.85 W +/\u2212 0.05 W', 'W', 3.85, 0.05],
    ['3.85\u00a0W\u2009\u00b1\u20090.05\u00a0W', 'W', 3.85, 0.05],
    ['27.205 MHz +- 150 Hz', 'Hz', 27_205_000, 150],
    ['27.205 MHz +- 5 ppm', 'Hz', 27_205_000, 136.025],
    ['13.80 V \u00b1 1 %', 'V', 13.8, 0.138],
    ['-12 V +- 1 %', 'V', -12, 0.12],
    ['85 % +- 5 %', 'ratio', 0.85, 0.05],
    ['30 dB +- 0.5 dB', 'dB', 30, 0.5],
    ['S9 +- 1 S', 'S', 9, 1],
  ])('"%s" in %s is %d with %d either way', (text, unit, centre, plusMinus) => {
    expect(readAbout(text, unit)).toEqual({ ok: true, value: { centre, plusMinus } })
  })

  test.each(levels.ppm_to_hz)('ppm of $mhz MHz as in the table', (row) => {
    const widths = [
      ['50 ppm', row['50ppm_hz']],
      ['5 ppm', row['5ppm_hz']],
      ['2.5 ppm', row['2.5ppm_hz']],
      ['100 ppb', row['1e-7_hz']],
    ] as const
    const read = widths.map(([width]) => readAbout(`${row.mhz} MHz +- ${width}`, 'Hz'))
    const errors = read.map((one, place) =>
      Math.abs((one.ok ? one.value.plusMinus : Number.NaN) - (widths[place]?.[1] ?? 0)),
    )
    expect(Math.max(...errors)).toBeLessThan(0.51e-4)
  })

  test.each<Refusal>([
    ['', 'V', 'Nothing was written: write it like 13.8 V +- 0.1 V'],
    ['5 V', 'V', '"5 V" is not a value with a plus-minus: write it like 13.8 V +- 0.1 V'],
    ['+- 5 V', 'V', '"+- 5 V" is not a value with a plus-minus: write it like 13.8 V +- 0.1 V'],
    ['5 V +-', 'V', '"5 V +-" is not a value with a plus-minus: write it like 13.8 V +- 0.1 V'],
    ['5 V +- 1 V +- 2 V', 'V', '"5 V +- 1 V +- 2 V" is not a value with a plus-minus: write it like 13.8 V +- 0.1 V'],
    ['27.205 MHz +- 150', 'Hz', `"150" has no unit: write ${HZ_SPELLINGS} behind it`],
    ['27.205 +- 5 ppm', 'Hz', `"27.205" has no unit: write ${HZ_SPELLINGS} behind it`],
    ['5 V +- 0 V', 'V', '"0 V" is no width: write how much either way, above 0'],
    ['5 V +- -1 V', 'V', '"-1 V" is no width: write how much either way, above 0'],
    ['5 V +- 5 PPM', 'V', '"5 PPM" is spelled wrongly: write ppm, not PPM'],
    ['5 V +- 1 Hz', 'V', `"1 Hz" is in Hz, but V is wanted: write ${V_SPELLINGS}`],
    ['0 V +- 5 %', 'V', '"0 V +- 5 %" is a share of nothing: write the width in V'],
    ['1e300 V +- 1e300 %', 'V', '"1e300 V +- 1e300 %" has a width too large or too small to be real'],
    ['1e308 V +- 1e308 V', 'V', '"1e308 V +- 1e308 V" has a width too large or too small to be real'],
    ['27 MHz +- 1e-20 Hz', 'Hz', '"27 MHz +- 1e-20 Hz" has a width too large or too small to be real'],
    ['1e-300 V +- 1e-300 %', 'V', '"1e-300 V +- 1e-300 %" has a width too large or too small to be real'],
    ['30 dB +- 5 %', 'dB', '"5 %" is in %, but dB is wanted: write dB'],
    ['-47 dBm +- 1 dB', 'V', '"-47 dBm +- 1 dB" has a plus-minus in dB: write the two ends, such as -48 .. -46 dBm'],
    [
      '3.6 .. 3.9 W +- 1 %',
      'W',
      '"3.6 .. 3.9 W" holds more than one number: write one, without blanks inside, such as 3.85 W',
    ],
  ])('"%s" in %s is refused: %s', (text, unit, refused) => {
    expect(readAbout(text, unit)).toEqual({ ok: false, refused })
  })
})

/** A whole number with the decimal point moved `places` to the left, as text: 1600 by 3 is "1.600". */
function pointed(whole: number, places: number): string {
  const digits = String(whole).padStart(places + 1, '0')
  return `${digits.slice(0, -places)}.${digits.slice(-places)}`
}
