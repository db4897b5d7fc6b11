import { describe, expect, test } from 'vitest'
import { mismatchOf, reflectionOf } from '../../../src/core/uncertainty/mismatch.ts'
import { published } from '../../kit/program/published.ts'

describe('mismatch (first example READ, rest COMPUTED: uncertainty.json)', () => {
  const vectors = published.mismatch.vectors.flatMap((one) =>
    typeof one.vswr_s === 'number' && typeof one.vswr_l === 'number'
      ? [{ ...one, set: one.vswr_s, meter: one.vswr_l }]
      : [],
  )
  test.each(vectors)('VSWR $set and $meter: + $plus_db dB', ({ set, meter, ...expected }) => {
    const { above, below, aboveDb, belowDb, halfWidth } = mismatchOf(set, meter)
    const check = (ours: number, key: string) => {
      const theirs = new Map(Object.entries(expected)).get(key)
      if (theirs !== undefined) expect(ours).toBeCloseTo(Number(theirs), 9)
    }
    check(aboveDb, 'plus_db')
    check(belowDb, 'minus_db')
    check(100 * above, 'plus_percent')
    check(100 * below, 'minus_percent')
    check((100 * halfWidth) / Math.SQRT2, 'u_percent')
  })

  test('there are two of them', () => expect(vectors.length).toBe(2))

  test('+3.67 % and u 2.571 % at 1.5 and 1.2; nothing where one side is matched', () => {
    expect(100 * mismatchOf(1.5, 1.2).above).toBeCloseTo(3.67, 2)
    expect((100 * mismatchOf(1.5, 1.2).halfWidth) / Math.SQRT2).toBeCloseTo(2.571, 3)
    expect(mismatchOf(3, 1)).toMatchObject({ above: 0, below: 0, halfWidth: 0 })
  })

  test('a standing wave ratio below 1 is a mistake of the program', () => {
    expect(() => reflectionOf(0.9)).toThrow(TypeError)
  })
})
