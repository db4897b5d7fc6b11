import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { readTarget } from '../../src/quantity/parse-target.ts'
import { QUANTITY_NAMES, type Quantity, type Unit } from '../../src/quantity/quantity.ts'
import type { Target } from '../../src/quantity/target.ts'

function band(unit: Unit, low: number | null, high: number | null, aim: number | null): Target {
  return { kind: 'band', unit, low, high, aim }
}

describe('a target', () => {
  test.each<readonly [text: string, quantity: Quantity, target: Target]>([
    ['3.6 .. 3.9 W', 'RF power', band('W', 3.6, 3.9, 3.75)],
    ['2.20 .. 2.60 V', 'DC voltage', band('V', 2.2, 2.6, 2.4)],
    ['1.60\u20131.95 kHz', 'FM deviation', band('Hz', 1600, 1950, 1775)],
    ['80 .. 90 %', 'AM depth', band('ratio', 0.8, 0.9, 0.85)],
    ['3.85 W +- 0.05 W', 'RF power', band('W', 3.8, 3.9, 3.85)],
    ['3.85 +/- 0.05 W', 'RF power', band('W', 3.8, 3.9, 3.85)],
    ['27.205 MHz \u00b1 150 Hz', 'frequency', band('Hz', 27_204_850, 27_205_150, 27_205_000)],
    ['27.205 MHz +- 5 ppm', 'frequency', band('Hz', 27_204_863.975, 27_205_136.025, 27_205_000)],
    ['13.80 V \u00b1 1 %', 'DC voltage', band('V', 13.662, 13.938, 13.8)],
    ['<= 0.5 uV', 'RF level', band('V', null, 5e-7, null)],
    ['\u2264 0.5 \u00b5V', 'RF level', band('V', null, 5e-7, null)],
    ['\u22640.5\u00a0\u03bcV', 'RF level', band('V', null, 5e-7, null)],
    ['at most 80 Hz', 'FM deviation', band('Hz', null, 80, null)],
    ['At most 5 %', 'audio distortion', band('ratio', null, 0.05, null)],
    ['>= 3.1 W', 'RF power', band('W', 3.1, null, null)],
    ['\u2265 3.1 W', 'RF power', band('W', 3.1, null, null)],
    ['at\u00a0least 20 dB', 'SINAD', band('dB', 20, null, null)],
    ['S8 .. S9', 'signal meter', band('S', 8, 9, 8.5)],
    ['channel +- 5 ppm', 'frequency', { kind: 'around channel', plusMinus: 5e-6, as: 'ratio' }],
    ['channel \u00b1 150 Hz', 'frequency', { kind: 'around channel', plusMinus: 150, as: 'Hz' }],
    ['Channel +/- 0.3 kHz', 'frequency', { kind: 'around channel', plusMinus: 300, as: 'Hz' }],
    ['maximum', 'RF power', { kind: 'maximum' }],
    [' Maximum ', 'SINAD', { kind: 'maximum' }],
    ['minimum', 'audio distortion', { kind: 'minimum' }],
  ])('"%s" of %s', (text, quantity, target) => {
    expect(readTarget(text, quantity)).toEqual({ ok: true, value: target })
  })

  const forms = '3.6 .. 3.9 W, 3.85 W +- 0.05 W, at most 3.85 W, at least 3.85 W, maximum or minimum'
  test.each<readonly [text: string, quantity: Quantity, refused: string]>([
    ['', 'RF power', `Nothing was written: write ${forms}`],
    ['hot', 'RF power', `"hot" is not a target: write ${forms}`],
    ['max', 'RF power', '"max" is not a target: write maximum'],
    ['peak', 'SINAD', '"peak" is not a target: write maximum'],
    ['min', 'RF power', '"min" is not a target: write minimum'],
    ['dip', 'audio distortion', '"dip" is not a target: write minimum'],
    ['3.85 W', 'RF power', '"3.85 W" is one value: write a band, such as 3.6 .. 3.9 W or 3.85 W +- 0.05 W'],
    ['3.85', 'RF power', '"3.85" has no unit: write W, mW, uW, nW, pW, kW or dBm behind it'],
    ['13,8 V', 'DC voltage', '"13,8 V" has a comma: write a decimal point, not a comma, and nothing between thousands'],
    ['3.6-3.9 W', 'RF power', '"3.6-3.9 W" needs two points between its ends: write it like 3.6 .. 3.9 W'],
    ['3.6 to 3.9 W', 'RF power', '"3.6 to 3.9 W" needs two points between its ends: write it like 3.6 .. 3.9 W'],
    ['3.9 .. 3.6 W', 'RF power', '"3.9 .. 3.6 W" runs from 3.9 W to 3.6 W: write the lower end first'],
    ['3.6 .. 3.9 V', 'RF power', '"3.9 V" is in V, but W is wanted: write W, mW, uW, nW, pW, kW or dBm'],
    ['< 5 uV', 'RF level', '"< 5 uV" leaves the limit itself open: write <= or at most'],
    ['> 5 uV', 'RF level', '"> 5 uV" leaves the limit itself open: write >= or at least'],
    ['<= 5', 'RF power', '"5" has no unit: write W, mW, uW, nW, pW, kW or dBm behind it'],
    ['at most', 'RF power', '"at most" has no value behind it: write at most 3.85 W'],
    ['channel', 'frequency', '"channel" has no width: write it like channel +- 150 Hz or channel +- 5 ppm'],
    ['channel 20', 'frequency', '"channel 20" has no width: write it like channel +- 150 Hz or channel +- 5 ppm'],
    ['channel +- 0 Hz', 'frequency', '"0 Hz" is no width: write how much either way, above 0'],
    ['channel +- 1 V', 'frequency', '"1 V" is in V, but Hz is wanted: write Hz, kHz, MHz or GHz'],
    [
      'channel +- 150 Hz',
      'FM deviation',
      '"channel +- 150 Hz" fits frequency only: write FM deviation like 1.60 .. 1.95 kHz',
    ],
  ])('"%s" of %s is refused: %s', (text, quantity, refused) => {
    expect(readTarget(text, quantity)).toEqual({ ok: false, refused })
  })

  test('every example in a refusal is itself a target, for all quantities', () => {
    const examples = QUANTITY_NAMES.flatMap((quantity) => {
      const read = readTarget('hot', quantity)
      const list = read.ok ? [] : (read.refused.split(': write ')[1] ?? '').split(/, | or /)
      return list.map((text) => ({ quantity, text, ok: readTarget(text, quantity).ok }))
    })
    expect(examples).toHaveLength(6 * QUANTITY_NAMES.length)
    expect(examples.filter(({ ok }) => !ok)).toEqual([])
  })

  test('a band in hundredths of a W is the same written as a range and as a centre with a plus-minus', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 99_999 }), fc.integer({ min: 1, max: 9999 }), (centre, width) => {
        const about = `${centre / 100} W +- ${width / 100} W`
        const range = `${(centre - width) / 100} .. ${(centre + width) / 100} W`
        const read = readTarget(about, 'RF power')
        expect(read.ok).toBe(true)
        expect(read).toEqual(readTarget(range, 'RF power'))
      }),
    )
  })
})

test('5 ppm round 27.205 MHz is 136.025 Hz either way, without a rounding error', () => {
  expect(readTarget('27.205 MHz +- 5 ppm', 'frequency')).toEqual({
    ok: true,
    value: band('Hz', 27_204_863.975, 27_205_136.025, 27_205_000),
  })
})
