import { describe, expect, test } from 'vitest'
import { type HeldDigits, holdDigits } from '../../../web/measure/hold-digits.ts'

/** One number every 100 ms; what is shown after each. */
function shown(texts: readonly string[]): HeldDigits[] {
  const out: HeldDigits[] = []
  for (const [index, text] of texts.entries()) out.push(holdDigits(out[index - 1] ?? null, text, index * 100))
  return out
}

describe('the number for the eye', () => {
  test('changes at most five times a second: each stands 200 ms', () => {
    const texts = shown(['3.80', '3.81', '3.82', '3.83', '3.84', '3.85']).map(({ text }) => text)
    expect(texts).toEqual(['3.80', '3.80', '3.82', '3.82', '3.84', '3.84'])
  })

  test('a change of form shows at once: a word, a new digit', () => {
    expect(shown(['9.99', '10.00']).at(-1)?.text).toBe('10.00')
    expect(shown(['9.99', 'over range']).at(-1)?.text).toBe('over range')
  })

  test('a last digit that goes to and fro is greyed, from its place on', () => {
    const texts = ['3.851', '3.853', '3.850', '3.852', '3.851'].flatMap((text) => [text, text])
    expect(shown(texts).at(-1)?.dimFrom).toBe(4)
  })

  test('a hand that turns one way greys nothing', () => {
    const texts = ['3.81', '3.83', '3.86', '3.88', '3.90'].flatMap((text) => [text, text])
    expect(shown(texts).at(-1)?.dimFrom).toBe(4)
    expect(shown(texts).at(-1)?.text).toBe('3.90')
  })

  test('negative dB count as numbers', () => {
    const texts = ['−0.23', '−0.21', '−0.24', '−0.22', '−0.23'].flatMap((text) => [text, text])
    expect(shown(texts).at(-1)?.dimFrom).toBe(4)
  })

  test('a quiet number loses its grey again', () => {
    const noisy = ['3.851', '3.853', '3.850', '3.852'].flatMap((text) => [text, text])
    const quiet = Array.from({ length: 60 }, () => '3.851')
    expect(shown([...noisy, ...quiet]).at(-1)?.dimFrom).toBe(5)
  })
})
