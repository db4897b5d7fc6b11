import { expect, test } from 'vitest'
import { countEpochs } from '../../src/bench/epochs.ts'

test('a measurement belongs to the epoch in which it began', () => {
  const epochs = countEpochs()
  expect(epochs.raise(1000)).toBe(1)
  expect(epochs.raise(2000)).toBe(2)
  expect([500, 1000, 1500, 2000, 2000.1].map((ms) => epochs.at(ms))).toEqual([0, 0, 1, 1, 2])
})

test('in the instant of a raise, what was known to be in force already counts', () => {
  const epochs = countEpochs()
  epochs.raise(1000)
  expect(epochs.at(1000)).toBe(0)
  expect(epochs.at(1000, epochs.current)).toBe(1)
})

test('a question that waited in a queue gets the epoch of the moment it left', () => {
  const epochs = countEpochs()
  const whenItQueued = epochs.current
  epochs.raise(1000)
  expect(epochs.at(1200, whenItQueued)).toBe(1)
})

test('raises older than a minute are forgotten, and what began before the oldest known is older than it', () => {
  const epochs = countEpochs()
  for (let second = 1; second <= 300; second++) epochs.raise(second * 1000)
  expect(epochs.current).toBe(300)
  expect(epochs.at(299_500)).toBe(299)
  expect(epochs.at(0)).toBeLessThan(240)
})
