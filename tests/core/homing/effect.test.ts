import { describe, expect, test } from 'vitest'
import { type Effect, hardlyAny, learn, NO_EFFECTS, remember, type SeenMove } from '../../../src/core/homing/effect.ts'

const move = (change: number, seconds: number, told: 1 | -1 = 1): SeenMove => ({ change, seconds, told })

describe('what an adjuster does', () => {
  test('0.4 V in 2 s while told clockwise: 0.2 V/s, and clockwise raises', () => {
    expect(learn(null, [move(0.4, 2)], false)).toEqual({ perS: 0.2, clockwise: 1, moves: 1 })
    expect(learn(null, [move(-0.4, 2)], false)?.clockwise).toBe(-1)
    expect(learn(null, [move(-0.4, 2, -1)], false)?.clockwise).toBe(1)
  })

  test('two moves of 0.1 and 0.4 V/s make 0.2 V/s: hands differ by factors', () => {
    expect(learn(null, [move(0.1, 1), move(0.4, 1)], false)?.perS).toBeCloseTo(0.2, 9)
  })

  test('a move of 0.3 s tells the direction and leaves 0.2 V/s as it is', () => {
    expect(learn(null, [move(0.4, 2), move(0.01, 0.3)], false)).toMatchObject({ perS: 0.2, clockwise: 1, moves: 2 })
  })

  test('one that has gone both ways, or over the end of its range, promises no direction', () => {
    expect(learn(null, [move(0.4, 2), move(-0.4, 2)], false)?.clockwise).toBeNull()
    expect(learn(null, [move(0.4, 2)], true)?.clockwise).toBeNull()
  })

  test('nothing is learned from no move, and earlier effects go in unchanged', () => {
    const earlier = new Map<string, Effect>([['VK DC voltage', { perS: 0.1, clockwise: 1, moves: 5 }]])
    expect(remember(earlier, 'VK DC voltage', [], false)).toBe(earlier)
    expect(remember(earlier, 'VK DC voltage', [move(0.1, 1)], false).get('VK DC voltage')).toMatchObject({ moves: 6 })
    expect(remember(NO_EFFECTS, 'PW RF power', [move(1, 1)], false).get('PW RF power')?.perS).toBe(1)
  })
})

describe('hardly any effect', () => {
  const usual: Effect = { perS: 0.2, clockwise: 1, moves: 3 }

  test.each([
    [0.07, 2, true],
    [0.09, 2, false],
    [0.03, 1, false],
  ])('%d V in %d s where 0.2 V/s is usual: %s', (change, seconds, hardly) => {
    expect(hardlyAny(usual, [move(change, seconds)])).toBe(hardly)
  })

  test('is never said without two earlier moves, nor of short ones', () => {
    expect(hardlyAny({ ...usual, moves: 1 }, [move(0.01, 5)])).toBe(false)
    expect(hardlyAny(null, [move(0.01, 5)])).toBe(false)
    expect(
      hardlyAny(
        usual,
        Array.from({ length: 20 }, () => move(0.001, 0.3)),
      ),
    ).toBe(false)
  })
})
