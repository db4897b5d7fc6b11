import { expect, test } from 'vitest'
import { meanOf, medianOf, nudgedJobs, shareWithin } from '../../kit/peaking/peak-trial.ts'

test.each([
  [{ lagS: 2 }, 'a lag of 2 s'],
  [{ lagS: 1, sigmaDb: 0.05 }, 'a lag of 1 s and 0.05 dB of noise'],
  [{ lagS: 2, stepWatts: 0.1 }, 'a lag of 2 s and steps of 0.1 W'],
  [{ lagS: 2, slopTurns: 0.08 }, 'a lag of 2 s and 0.08 turn of play'],
  [{ lagS: 0.3, sigmaDb: 0.1 }, '0.1 dB of noise'],
])('60 jobs by step-and-wait with %j (%s): at least 95 %% within 0.1 dB, half within 0.03 dB', (world, _words) => {
  const done = nudgedJobs(60, 2, world)
  expect(shareWithin(done, 0.1)).toBeGreaterThanOrEqual(0.95)
  expect(medianOf(done.map(({ lossDb }) => lossDb))).toBeLessThan(0.03)
})

test('60 jobs keyed only while a place is read, 15 s of 60 allowed: no key-down above 15 s, at least 95 % within 0.1 dB, and a third less carrier', () => {
  const bursts = nudgedJobs(60, 3, { lagS: 2 }, { atMostS: 15, restS: 45 })
  const always = nudgedJobs(60, 3, { lagS: 2 })
  expect(shareWithin(bursts, 0.1)).toBeGreaterThanOrEqual(0.95)
  expect(Math.max(...bursts.map(({ longestKeyS }) => longestKeyS))).toBeLessThanOrEqual(15)
  const keyedS = (jobs: typeof bursts) => meanOf(jobs.map((job) => job.keyedS))
  expect(keyedS(bursts)).toBeLessThan(0.67 * keyedS(always))
})
