import { describe, expect, test } from 'vitest'
import { backOffMs } from '../../src/bench/back-off.ts'

describe('the wait before each try', () => {
  test.each([
    [0, 0, 400],
    [0, 0.5, 500],
    [0, 1, 600],
    [1, 0.5, 1000],
    [2, 0.5, 2000],
    [3, 0.5, 5000],
    [4, 0.5, 10_000],
    [99, 0, 8000],
    [99, 1, 12_000],
  ])('number %d with chance %d is %d ms', (tries, chance, ms) => {
    expect(backOffMs(tries, () => chance)).toBeCloseTo(ms, 9)
  })
})
