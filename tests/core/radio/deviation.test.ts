import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { peaksSeen, peaksWords, withoutResidual } from '../../../src/core/radio/deviation.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import set from '../../reference/invented_set.json' with { type: 'json' }

describe('both peaks', () => {
  test.each(set.peaks)('$what: the smaller falls $percent % short', ({ up, down, percent, one_sided }) => {
    const seen = peaksSeen({ up, down })
    expect(Math.abs(100 * seen.asymmetry - percent)).toBeLessThan(0.51)
    expect(seen.larger).toBe(up)
    expect(sentence(peaksWords({ up, down })).includes('never set by the smaller')).toBe(one_sided)
  })

  test('the larger is judged, whichever side it is on', () => {
    expect(peaksSeen({ up: 1200, down: 1780 })).toMatchObject({ larger: 1780, smaller: 1200, side: 'down' })
    expect(peaksSeen({ up: 1500, down: 1500 })).toMatchObject({ side: 'up', asymmetry: 0 })
  })

  test('in words', () => {
    expect(sentence(peaksWords({ up: 1780, down: 1710 }))).toBe(
      'the larger peak is 1.78 kHz up, the other 1.71 kHz: 4 % less',
    )
    expect(sentence(peaksWords({ up: 1780, down: 1200 }))).toBe(
      'the larger peak is 1.78 kHz up, the other 1.20 kHz: 33 % less. One side clips early: never set by the smaller',
    )
    expect(sentence(peaksWords({ up: 1500, down: 1500 }))).toBe(
      'the larger peak is 1.50 kHz up, the other 1.50 kHz: alike',
    )
    expect(sentence(peaksWords({ up: 0, down: 0 }))).toMatch(/alike$/)
  })

  test('setting the smaller peak to 1.80 kHz would make the larger 2.67 kHz with a one-sided limiter', () => {
    const { asymmetry } = peaksSeen({ up: 1780, down: 1200 })
    expect(1800 / (1 - asymmetry)).toBeCloseTo(2670, 0)
  })
})

describe('the residual', () => {
  test('of 300 Hz off 1.80 kHz in quadrature leaves 1775 Hz, at the least 1500 Hz, and the words say how', () => {
    const left = withoutResidual(1800, 300)
    expect(left?.hz).toBeCloseTo(1774.824, 3)
    expect(left?.leastHz).toBe(1500)
    expect(sentence(left?.words ?? '')).toBe('1.775 kHz: 1.800 kHz shown, residual 300 Hz taken off in quadrature')
  })

  test('of 30 Hz hardly matters: 0.25 Hz of 1.80 kHz', () => {
    expect(1800 - (withoutResidual(1800, 30)?.hz ?? 0)).toBeCloseTo(0.25, 2)
  })

  test('as large as the reading leaves nothing to say, and neither does one that was not read', () => {
    expect(withoutResidual(80, 80)).toBeNull()
    expect(withoutResidual(80, 90)).toBeNull()
    expect(withoutResidual(80, Number.NaN)).toBeNull()
  })

  test('taken off and added again in quadrature is what was shown; the least is never above it', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 1e4, noNaN: true }),
        fc.double({ min: 0, max: 0.99, noNaN: true }),
        (shown, share) => {
          const left = withoutResidual(shown, share * shown)
          expect(Math.hypot(left?.hz ?? 0, share * shown) / shown).toBeCloseTo(1, 12)
          expect(left?.leastHz).toBeLessThanOrEqual((left?.hz ?? 0) * (1 + 1e-12))
        },
      ),
    )
  })
})
