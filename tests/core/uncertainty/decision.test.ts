import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { type Band, judge } from '../../../src/core/uncertainty/band.ts'
import { ANSWERS, answerOf, decide, ruleWords } from '../../../src/core/uncertainty/decision.ts'
import { DecisionRuleName } from '../../../src/schema/kept/evidence.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'

const BAND: Band = { low: 3.6, high: 4, aim: 3.8 }

describe('four answers (names READ in ILAC-G8:09/2019 4.2, bounds of the regions MEMORY)', () => {
  test.each([
    [3.8, 'in and clear', true],
    [3.7, 'in and clear', true],
    [3.9, 'in and clear', true],
    [3.901, 'in but touching', true],
    [4, 'in but touching', true],
    [3.6, 'in but touching', true],
    [4.0001, 'out but touching', false],
    [3.5, 'out but touching', false],
    [4.1, 'out but touching', false],
    [4.101, 'out and clear', false],
    [3.499, 'out and clear', false],
  ] as const)('%d W with 0.1 W of doubt in 3.6 .. 4.0 W: %s', (value, answer, accepted) => {
    const decision = decide('four answers', { value, uncertainty: 0.1 }, BAND)
    expect(decision).toMatchObject({ answer, accepted })
    expect(decision.words).toBe(decision.verdict === 'inside' ? answer : `${answer}, too ${decision.verdict}`)
  })

  test('a doubt wider than half the band: at best in but touching, whatever the value', () => {
    for (let value = 3; value < 5; value += 0.01) expect(answerOf(value, 0.21, BAND)).not.toBe('in and clear')
    expect(answerOf(3.8, 0.21, BAND)).toBe('in but touching')
    expect(answerOf(5, 1.2, BAND)).toBe('out but touching')
  })

  test('a side without an edge is never touched', () => {
    const least: Band = { low: 12, high: null, aim: null }
    expect(answerOf(500, 1.3, least)).toBe('in and clear')
    expect(answerOf(13, 1.3, least)).toBe('in but touching')
    expect(answerOf(11, 1.3, least)).toBe('out but touching')
    expect(answerOf(10, 1.3, least)).toBe('out and clear')
  })
})

describe('by each rule', () => {
  const at = (value: number | null) =>
    DecisionRuleName.options.map((rule) => decide(rule, { value, uncertainty: 0.1 }, BAND))

  test.each([
    [3.8, [true, true, true], ['inside', 'inside', 'in and clear']],
    [3.95, [true, false, true], ['inside', 'inside, but not by its doubt: no pass', 'in but touching']],
    [4.05, [false, false, false], ['outside, too high', 'outside, too high', 'out but touching, too high']],
    [3.3, [false, false, false], ['outside, too low', 'outside, too low', 'out and clear, too low']],
  ] as const)('%d W', (value, accepted, words) => {
    expect(at(value).map((one) => one.accepted)).toEqual(accepted)
    expect(at(value).map((one) => one.words)).toEqual(words)
  })

  test.each([null, Number.NaN, Number.POSITIVE_INFINITY])('%s is unread, never a pass', (value) => {
    for (const one of at(value))
      expect(one).toMatchObject({ verdict: 'unread', answer: null, accepted: false, words: 'unread' })
  })

  test('of both peaks the worse counts, by position and by answer', () => {
    const peaks = (parts: (number | null)[]) =>
      decide('guarded acceptance', { value: 3.8, parts, uncertainty: 0.1 }, BAND)
    expect(peaks([3.8, 3.7])).toMatchObject({ answer: 'in and clear', accepted: true })
    expect(peaks([3.8, 3.62])).toMatchObject({ verdict: 'inside', answer: 'in but touching', accepted: false })
    expect(peaks([3.8, 3.3])).toMatchObject({ verdict: 'low', answer: 'out and clear', accepted: false })
    expect(peaks([3.8, null])).toMatchObject({ verdict: 'unread', answer: null, accepted: false })
  })

  test('each rule has its one sentence', () => {
    for (const rule of DecisionRuleName.options) expect(sentence(ruleWords(rule))).toMatch(/^[A-Z][^.]*\.$/)
  })
})

const finite = (min: number, max: number) => fc.double({ min, max, noNaN: true })
const anyBand: fc.Arbitrary<Band> = fc
  .tuple(finite(-100, 100), finite(0.01, 50), fc.constantFrom('both', 'low', 'high'))
  .map(([low, width, edges]) => ({
    low: edges === 'high' ? null : low,
    high: edges === 'low' ? null : low + width,
    aim: null,
  }))

describe('for any value, doubt and band', () => {
  test('the four answers agree with simple acceptance, and guarded passes are simple ones', () => {
    fc.assert(
      fc.property(finite(-200, 200), finite(0, 60), anyBand, (value, uncertainty, band) => {
        const [simple, guarded, four] = DecisionRuleName.options.map((rule) =>
          decide(rule, { value, uncertainty }, band),
        )
        expect(simple?.accepted).toBe(judge(value, band) === 'inside')
        expect(four?.accepted).toBe(simple?.accepted)
        expect(four?.answer?.startsWith('in')).toBe(simple?.accepted)
        if (guarded?.accepted) expect(simple?.accepted).toBe(true)
        expect(guarded?.accepted).toBe(four?.answer === 'in and clear')
      }),
    )
  })

  test('more doubt never makes an answer clearer', () => {
    fc.assert(
      fc.property(finite(-200, 200), finite(0, 30), finite(0, 30), anyBand, (value, doubt, more, band) => {
        const clear = (uncertainty: number) => (answerOf(value, uncertainty, band) ?? '').endsWith('clear')
        if (clear(doubt + more)) expect(clear(doubt)).toBe(true)
      }),
    )
  })

  test('without doubt every answer is clear', () => {
    fc.assert(
      fc.property(finite(-200, 200), anyBand, (value, band) => {
        expect(ANSWERS.indexOf(answerOf(value, 0, band) ?? 'in but touching') % 3).toBe(0)
      }),
    )
  })
})
