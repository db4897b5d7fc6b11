import { describe, expect, test } from 'vitest'
import { adjusterDone, startRounds } from '../../../src/core/peaking/rounds.ts'

const rule = { gainDb: 0.05, most: 4 }

/** Levels reached, one per adjuster in turn; the adjusters that were asked for. */
function go(adjusters: string[], levels: number[], startDb: number | null = null) {
  let rounds = startRounds(adjusters, rule, startDb)
  const asked: (string | null)[] = [rounds.next]
  for (const level of levels) {
    rounds = adjusterDone(rounds, level)
    asked.push(rounds.next)
  }
  return { rounds, asked }
}

describe('rounds of interacting adjusters', () => {
  test('begin at the one nearer the input and take turns; a second round that gains 0.04 dB ends it', () => {
    const { rounds, asked } = go(['DK', 'OK'], [6.5, 7.0, 7.02, 7.04])
    expect(asked).toEqual(['DK', 'OK', 'DK', 'OK', null])
    expect(rounds).toMatchObject({ done: true, round: 2, stillGaining: false })
    expect(rounds.gainDb).toBeCloseTo(0.04, 9)
  })

  test('a second round that gains 0.05 dB asks for the first adjuster again', () => {
    const { rounds } = go(['DK', 'OK'], [6.5, 7.0, 7.03, 7.0 + 0.05 + 1e-9])
    expect(rounds).toMatchObject({ done: false, next: 'DK', round: 3 })
  })

  test('the gain of a round that is not finished is the one before it', () => {
    const { rounds } = go(['DK', 'OK'], [6.5, 7.0, 7.3])
    expect(rounds).toMatchObject({ next: 'OK', round: 2, gainDb: null })
  })

  test('a fourth round that still gains 0.1 dB is the last, and says that it still gains', () => {
    const { rounds } = go(['DK', 'OK'], [6, 6.5, 6.6, 6.8, 6.9, 7.0, 7.05, 7.1])
    expect(rounds).toMatchObject({ done: true, round: 4, stillGaining: true })
  })

  test('one adjuster is one round and nothing more', () => {
    const { rounds, asked } = go(['DK'], [7])
    expect(asked).toEqual(['DK', null])
    expect(rounds).toMatchObject({ done: true, round: 1, stillGaining: false })
  })

  test('where the start level is known, a first round that gains 0.02 dB is enough', () => {
    const { rounds } = go(['DK', 'OK'], [7.01, 7.02], 7.0)
    expect(rounds).toMatchObject({ done: true, round: 1 })
  })

  test('a round that loses by droop ends it too, and nothing moves after the end', () => {
    const { rounds } = go(['DK', 'OK'], [7, 7.1, 7.1, 7.05])
    expect(rounds.done).toBe(true)
    expect(adjusterDone(rounds, 9)).toBe(rounds)
  })

  test('in the second round one adjuster that has gained 0.04 dB ends it: the other has nothing to come back for', () => {
    const first = adjusterDone(adjusterDone(startRounds(['DK', 'OK'], rule), 6.5, 0.5), 7, 0.5)
    expect(adjusterDone(first, 7.04, 0.04)).toMatchObject({ done: true, next: null, round: 2, gainDb: 0.04 })
    expect(adjusterDone(first, 7.06, 0.06)).toMatchObject({ done: false, next: 'OK', round: 2 })
  })

  test('never in the first round, and of three adjusters two in a row must have found nothing', () => {
    const two = startRounds(['DK', 'OK'], rule)
    expect(adjusterDone(adjusterDone(two, 7, 0.01), 7.01, 0.01)).toMatchObject({ done: false, round: 2 })
    const gains = [0.5, 0.5, 0.5, 0.01]
    const four = gains.reduce((rounds, gain) => adjusterDone(rounds, 7, gain), startRounds(['A', 'B', 'C'], rule))
    expect(four).toMatchObject({ done: false, next: 'B' })
    expect(adjusterDone(four, 7, 0.01)).toMatchObject({ done: true, next: null })
  })

  test('no adjuster is a mistake of the program', () => {
    expect(() => startRounds([])).toThrow(TypeError)
  })
})
