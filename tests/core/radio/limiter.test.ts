import { describe, expect, test } from 'vitest'
import { judgeLimiter, type LimiterPoint } from '../../../src/core/radio/limiter.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import set from '../../reference/invented_set.json' with { type: 'json' }

const { microphone_gain_per_mv: gain, full_hz: fullHz, knee } = set.limiter

/** The invented set: a soft limiter of this height behind a microphone stage, its 1.75 kHz at full height turned by a preset. */
function devHz(milliVolts: number, height = 1, preset = 1): number {
  const driven = gain * milliVolts
  return (fullHz * preset * 1.02 * driven) / (1 + (driven / height) ** knee) ** (1 / knee)
}

const levels = (milliVolts: readonly number[], height = 1, preset = 1): LimiterPoint[] =>
  milliVolts.map((one) => ({ toneHz: 1000, levelVolts: one / 1e3, deviationHz: devHz(one, height, preset) }))
const given = (table: Readonly<Record<string, number>>): LimiterPoint[] =>
  Object.entries(table).map(([milliVolts, hz]) => ({
    toneHz: 1000,
    levelVolts: Number(milliVolts) / 1e3,
    deviationHz: hz,
  }))
const tones = (table: readonly (readonly [number, number])[]): LimiterPoint[] =>
  table.map(([toneHz, deviationHz]) => ({ toneHz, levelVolts: 0.03, deviationHz }))

const MOST = 2000

describe('+20 dB at one tone', () => {
  test('the model here gives the sheet its values: 1.12 kHz at 3 mV, 1.78 at 10 and 30 mV; a 4 times higher limiter 7.1 kHz', () => {
    expect(devHz(3)).toBeCloseTo(1120, -1.5)
    expect(devHz(30)).toBeCloseTo(1780, -1.5)
    expect(Math.abs(devHz(30, 4) - 7100)).toBeLessThan(80)
  })

  test('a healthy set: 1.12 kHz at 3 mV, 1.78 kHz at 30 mV', () => {
    const seen = judgeLimiter(given(set.limiter.healthy_hz), MOST)
    expect(seen.verdict).toBe('holds')
    expect(seen.perLevel).toBeCloseTo(0.2, 2)
    expect(sentence(seen.words)).toBe('limiter holds: 1.12 kHz to 1.78 kHz for 20 dB more tone, 1.78 kHz at most')
  })

  test('a limiter defeated: 1.9, 3.8 and 7.1 kHz at 5, 10 and 30 mV', () => {
    const seen = judgeLimiter(given(set.limiter.defeated_hz), MOST)
    expect(seen.verdict).toBe('rises with level')
    expect(sentence(seen.words)).toBe(
      'rises with level, 1.90 kHz to 7.10 kHz for 16 dB more tone: limiter defeated. Restore it, do not set lower',
    )
  })

  test('defeated and set lower, so that 20 dB up it just keeps the 2 kHz: still defeated', () => {
    const preset = 1950 / devHz(30, 8)
    expect(judgeLimiter(levels([3, 30], 8, preset), MOST).verdict).toBe('rises with level')
  })

  test.each([
    [1, 'holds'],
    [1.1, 'holds'],
    [1.5, 'set too high'],
    [3, 'rises with level'],
    [4, 'rises with level'],
    [10, 'rises with level'],
  ] as const)('a limiter %d times as high, read at 3, 10 and 30 mV: %s', (height, verdict) => {
    expect(judgeLimiter(levels([3, 10, 30], height), MOST).verdict).toBe(verdict)
  })

  test('levels below the limiter say: raise the tone further', () => {
    const seen = judgeLimiter(levels([1, 3]), MOST)
    expect(seen.verdict).toBe('not reached')
    expect(sentence(seen.words)).toBe(
      'still rises, 0.38 kHz to 1.12 kHz for 10 dB more tone: the limiter is not reached yet, raise the tone further',
    )
  })

  test('a level far below any limiter is passed over for one within 20 dB', () => {
    expect(judgeLimiter(levels([0.3, 5, 30]), MOST).perLevel).toBeLessThan(0.1)
    expect(judgeLimiter(levels([0.3, 5, 30], 4), MOST).verdict).toBe('rises with level')
  })

  test.each([
    ['nothing', []],
    ['one level', levels([30])],
    ['two levels 3 dB apart', levels([21, 30])],
    ['levels of different tones', [...levels([3]), ...tones([[2000, 1780]])]],
    ['no tone at all, its residual and 30 mV', [{ toneHz: 1000, levelVolts: 0, deviationHz: 30 }, ...levels([30])]],
  ] as const)('%s shows nothing', (_, points) => {
    const seen = judgeLimiter(points, MOST)
    expect(seen.verdict).toBe('not shown')
    expect(seen.perLevel).toBeNaN()
  })

  test('meter noise of 30 Hz on every reading changes none of the verdicts', () => {
    for (const off of [-30, 30])
      for (const [height, verdict] of [
        [1, 'holds'],
        [4, 'rises with level'],
      ] as const) {
        const points = levels([3, 30], height).map((one, at) => ({
          ...one,
          deviationHz: one.deviationHz + (at === 0 ? off : -off),
        }))
        expect(judgeLimiter(points, MOST).verdict).toBe(verdict)
      }
  })
})

describe('over the tones', () => {
  test('a healthy set stays under 2.0 kHz from 300 Hz to 3 kHz', () => {
    const seen = judgeLimiter(
      [
        ...levels([3]),
        ...tones([
          [300, 1650],
          [1000, 1780],
          [1700, 1790],
          [3000, 1600],
        ]),
      ],
      MOST,
    )
    expect(seen.verdict).toBe('holds')
    expect(sentence(seen.words)).toContain('1.79 kHz at most')
  })

  test('emphasis that passes by the limiter rises with the tone: 6 dB an octave', () => {
    const seen = judgeLimiter(
      [
        ...levels([3]),
        ...tones([
          [500, 890],
          [1000, 1780],
          [2000, 3560],
        ]),
      ],
      MOST,
    )
    expect(seen.verdict).toBe('rises with tone')
    expect(seen.perTone).toBeCloseTo(1, 9)
    expect(sentence(seen.words)).toBe(
      'rises with the tone, 3.56 kHz at 2.000 kHz, above 2.00 kHz: it passes by the limiter',
    )
  })

  test('one tone a little above 2.0 kHz is set lower, not repaired', () => {
    const seen = judgeLimiter(
      [
        ...levels([3]),
        ...tones([
          [300, 1900],
          [1000, 1950],
          [2400, 2050],
        ]),
      ],
      MOST,
    )
    expect(seen.verdict).toBe('set too high')
    expect(sentence(seen.words)).toBe('limiter holds, but at 2.05 kHz at 2.400 kHz, above 2.00 kHz: set it lower')
  })
})
