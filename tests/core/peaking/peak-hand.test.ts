import { expect, test } from 'vitest'
import { seededRng } from '../../../src/system/rng.ts'
import { HAND_WORLD, type HandWorld, type PeakJob, peakTwoSlugs } from '../../kit/peaking/peak-hand.ts'
import { guidedJobs, jobsByEye, meanOf } from '../../kit/peaking/peak-trial.ts'

function jobs(count: number, seed: number, changes: Partial<HandWorld> = {}): PeakJob[] {
  const rng = seededRng(seed)
  const anywhere = () => (rng() * 2 - 1) * 0.8
  return Array.from({ length: count }, () => peakTwoSlugs([anywhere(), anywhere()], { ...HAND_WORLD, ...changes }, rng))
}

const within = (done: readonly PeakJob[], lossDb: number) =>
  done.filter((job) => job.finished && job.lossDb <= lossDb).length / done.length

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1] ?? Number.NaN
}

test('200 jobs on two slugs at 0.02 dB noise and 0.3 s lag: at least 99 % end within 0.1 dB, in 2 to 2.3 rounds', () => {
  const done = jobs(200, 1)
  expect(within(done, 0.1)).toBeGreaterThanOrEqual(0.99)
  expect(median(done.map((job) => job.lossDb))).toBeLessThan(0.025)
  const rounds = done.reduce((sum, job) => sum + job.rounds, 0) / done.length
  expect(rounds).toBeGreaterThanOrEqual(2)
  expect(rounds).toBeLessThanOrEqual(2.3)
})

test.each([
  [0.01, 0.98],
  [0.03, 0.96],
  [0.05, 0.9],
])('60 jobs at %d dB noise: a share of at least %d within 0.1 dB', (sigmaDb, share) => {
  expect(within(jobs(60, 2, { sigmaDb }), 0.1)).toBeGreaterThanOrEqual(share)
})

test('60 jobs in key-downs of 15 s with 45 s of rest: at least 95 % within 0.1 dB', () => {
  expect(within(jobs(60, 3, { keying: { onS: 15, offS: 45 } }), 0.1)).toBeGreaterThanOrEqual(0.95)
})

test('60 jobs with a meter of 0.1 W steps at 5.5 W: at least 93 % within 0.12 dB', () => {
  expect(within(jobs(60, 4, { stepWatts: 0.1 }), 0.12)).toBeGreaterThanOrEqual(0.93)
})

test('60 jobs begun at the top, 0 to 0.05 turn off it, end there too', () => {
  const rng = seededRng(5)
  const near = () => (rng() * 2 - 1) * 0.05
  const done = Array.from({ length: 60 }, () => peakTwoSlugs([near(), near()], HAND_WORLD, rng))
  expect(within(done, 0.1)).toBeGreaterThanOrEqual(0.98)
})

test('the trial can tell a bad guide: a meter that lags 2 s and a hand not told to slow down leave more than 20 % outside', () => {
  const done = jobs(60, 6, { lagS: 2, slowTurnsPerS: HAND_WORLD.turnsPerS })
  expect(within(done, 0.1)).toBeLessThan(0.8)
})

test('100 jobs with the guide turn at most 0.6 times as much as the same jobs by eye, 3 sigma below the best', () => {
  const turns = (done: readonly PeakJob[]) => meanOf(done.map((job) => job.turns))
  expect(turns(guidedJobs(100, 7)) / turns(jobsByEye(100, 7))).toBeLessThanOrEqual(0.6)
})
