import { describe, expect, test } from 'vitest'
import type { Goal } from '../../../src/core/goal/goal.ts'
import { decadeOff, readTyped } from '../../../src/core/reading/typed.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'

const bandOf = (low: number | null, high: number | null, aim: number | null = null): Goal => ({
  ...{ kind: 'band', band: { low, high, aim }, aimLow: low ?? Number.NEGATIVE_INFINITY },
  ...{ aimHigh: high ?? Number.POSITIVE_INFINITY, rule: null },
})

describe('what a person types', () => {
  test.each([
    ['3.9 W', 'W', [3.9]],
    ['850 mW', 'W', [0.85]],
    ['1.78 / 1.71 kHz', 'Hz', [1780, 1710]],
    ['1.78 kHz / 1710 Hz', 'Hz', [1780, 1710]],
    ['-3 / 4 V', 'V', [-3, 4]],
  ] as const)('"%s" in %s', (text, unit, value) => {
    const read = readTyped(text, unit)
    if (!read.ok) throw new TypeError(read.refused)
    expect(read.value).toHaveLength(value.length)
    for (const [at, one] of value.entries()) expect(read.value[at]).toBeCloseTo(one, 9)
  })

  test.each([
    ['1 / 2 / 3 kHz', 'Hz'],
    ['3.9 V', 'W'],
    ['', 'W'],
    ['3.9', 'W'],
    ['much', 'W'],
    ['1.78 / much kHz', 'Hz'],
  ] as const)('"%s" in %s is refused', (text, unit) => {
    expect(readTyped(text, unit).ok).toBe(false)
  })
})

describe('a misplaced point', () => {
  const power = bandOf(3.3, 4)

  test.each([
    [39, '3.9'],
    [0.39, '3.9'],
    [36.5, '3.65'],
    [0.365, '3.65'],
    [18.5, '1.85'],
    [72, '7.2'],
  ])('%d W where 3.3 .. 4.0 W is wanted: %s is offered', (value, meant) => {
    expect(sentence(decadeOff(value, power, 'TYPED'))).toContain('TYPED')
    expect(sentence(decadeOff(value, power, 'TYPED'))).toContain(meant)
  })

  test.each([3.9, 4.4, 17, 75, 365, 0.0365, 0, -39])('%d W is taken as it is', (value) => {
    expect(decadeOff(value, power, 'TYPED')).toBe('')
  })

  test('it is ten times the aim that counts, where the sheet names one', () => {
    const aimed = bandOf(1, 9, 2)
    expect(decadeOff(20, aimed, 'TYPED')).not.toBe('')
    expect(decadeOff(50, aimed, 'TYPED')).toBe('')
    expect(decadeOff(50, bandOf(1, 9), 'TYPED')).not.toBe('')
  })

  test('an open side holds every decade, a peak too, and nothing is ten times of what is not above 0', () => {
    for (const goal of [
      bandOf(null, 4),
      bandOf(3.3, null),
      bandOf(-4, -3),
      bandOf(-1, 1),
      { kind: 'peak', dip: false } as const,
    ])
      expect(decadeOff(39, goal, 'TYPED')).toBe('')
  })
})
