import { describe, expect, test } from 'vitest'
import {
  type Effect,
  effectName,
  effectsFrom,
  hardlyAny,
  knownEffects,
  learn,
  remember,
  type SeenMove,
} from '../../../src/core/homing/effect.ts'

const move = (change: number, seconds: number, told: 1 | -1 = 1): SeenMove => ({ change, seconds, told })
const known: Effect = { perS: 0.2, clockwise: 1, moves: 1 }

describe('what a move teaches', () => {
  test.each([
    ['the second counts for a half', 1, 0.2 * 4 ** (1 / 2)],
    ['the third for a third', 2, 0.2 * 4 ** (1 / 3)],
    ['the fourth, and all after it, for a quarter', 3, 0.2 * 4 ** (1 / 4)],
    ['the tenth too', 9, 0.2 * 4 ** (1 / 4)],
  ])('of four times the usual effect: %s', (_, moves, perS) => {
    const after = learn({ ...known, moves }, [move(0.8, 1)], false)
    expect(after?.perS).toBeCloseTo(perS, 12)
    expect(after?.moves).toBe(moves + 1)
  })

  test('from 0.8 s on; a shorter one tells the way alone', () => {
    expect(learn(known, [move(0.8, 0.79)], false)?.perS).toBe(0.2)
    expect(learn(known, [move(0.64, 0.8)], false)?.perS).toBeCloseTo(0.4, 12)
  })

  test('nothing where nothing moved, or in no time', () => {
    expect(learn(known, [move(0, 1), move(1, 0)], false)).toBe(known)
    expect(learn(null, [move(0, 1)], false)).toBeNull()
  })

  test.each([
    [0.4, 1, 1],
    [-0.4, 1, -1],
    [0.4, -1, -1],
    [-0.4, -1, 1],
  ] as const)('%d while told %d: clockwise moves it by the sign %d', (change, told, clockwise) => {
    expect(learn(null, [move(change, 1, told)], false)?.clockwise).toBe(clockwise)
    expect(learn({ ...known, clockwise }, [move(change, 1, told)], false)?.clockwise).toBe(clockwise)
    expect(learn({ ...known, clockwise: clockwise > 0 ? -1 : 1 }, [move(change, 1, told)], false)?.clockwise).toBeNull()
  })
})

describe('what was learned is kept', () => {
  test('by adjuster and quantity, and read back as it was written', () => {
    const name = effectName('VK', 'DC voltage')
    const effects = remember(new Map([['PW RF power', known]]), name, [move(0.4, 2)], false)
    expect([...effects.keys()]).toEqual(['PW RF power', name])
    expect(effectsFrom(knownEffects(effects))).toEqual(effects)
    expect(knownEffects(effects)[1]).toEqual({ name, perS: 0.2, clockwise: 1, moves: 1 })
  })
})

describe('hardly any effect', () => {
  const usual: Effect = { perS: 0.2, clockwise: 1, moves: 2 }

  test.each([
    ['less than a fifth of the usual, over 2 s', [move(0.079, 2)], true],
    ['a fifth', [move(0.0801, 2)], false],
    ['over less than 2 s nobody can say', [move(0.01, 1.99)], false],
    ['in two moves together', [move(0.039, 1), move(-0.039, 1)], true],
    ['short moves count for nothing', [move(0.039, 1), move(0.001, 0.79), move(0.001, 0.79)], false],
  ] as const)('%s: %j', (_, moves, hardly) => {
    expect(hardlyAny(usual, moves)).toBe(hardly)
  })
})
