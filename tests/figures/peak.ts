import { addReading, errorOf, type LiveRule, liveRule, startLive } from '../../src/core/reading/live.ts'
import type { Reading } from '../../src/schema/kept/reading.ts'
import { normal, seededRng } from '../../src/system/rng.ts'
import { METER_FACTS } from '../kit/job/meter-facts.ts'
import { guidedJobs, jobsByEye, meanOf, medianOf, nudgedJobs, shareWithin } from '../kit/peaking/peak-trial.ts'
import { SET_SCENES, setTo } from '../kit/peaking/set-hand.ts'
import type { Figure } from './figure.ts'

const JOBS = 500
const SEED = 11
/** Meters of the first figure: noise of one reading, dB, and lag, s. */
const METERS = [0.005, 0.01, 0.015, 0.02].flatMap((sigmaDb) => [0.3, 0.5].map((lagS) => ({ sigmaDb, lagS })))
const BUDGET = { atMostS: 15, restS: 45 }
const NEAR_DB = 0.1

/** How near the top a simulated hand gets that goes by the guide, and how much it turns; set-tos; and what one reading costs. */
export async function peakFigures(): Promise<Figure[]> {
  // the cost first: a service runs this alone, not after half a million readings of other meters
  return [...costs(), ...turning(), ...nudging(), ...setting()]
}

function turning(): Figure[] {
  const shares = METERS.map((meter) => share(guidedJobs(JOBS, SEED, meter)))
  const ours = meanOf(guidedJobs(JOBS, SEED).map(({ turns }) => turns))
  const eye = jobsByEye(JOBS, SEED)
  const theirs = meanOf(eye.map(({ turns }) => turns))
  const many = `${JOBS} jobs on two slugs, seed ${SEED}`
  return [
    figure(
      'peak.loss',
      Math.min(...shares),
      99,
      '%',
      `to reach: within ${NEAR_DB} dB by the worst of ${METERS.length} meters, sigma 0.005 to 0.02 dB, lag 0.3 and 0.5 s; ${many} each`,
    ),
    figure(
      'peak.loss.steps',
      share(guidedJobs(JOBS, SEED, { stepWatts: 0.1 })),
      95,
      '%',
      `to reach: within ${NEAR_DB} dB by a meter of 0.1 W steps at 5.5 W; ${many}`,
    ),
    figure(
      'peak.turns',
      ours,
      theirs,
      'turns',
      `a hand without a guide, same speed, reaction and play, that turns back and stops 3 sigma below the best it remembers (${share(eye).toFixed(0)} % of its jobs end within ${NEAR_DB} dB); mean of ${many}, sigma 0.02 dB, lag 0.3 s`,
    ),
  ]
}

function nudging(): Figure[] {
  const slow = nudgedJobs(JOBS, SEED, { lagS: 2 })
  const bursts = nudgedJobs(JOBS, SEED, { lagS: 2 }, BUDGET)
  const many = `${JOBS} jobs on two slugs, seed ${SEED}, step-and-wait, lag 2 s, sigma 0.02 dB`
  const keying = `${many}; keyed only while a place is read`
  return [
    figure('peak.loss.slow', share(slow), 95, '%', `to reach: within ${NEAR_DB} dB; ${many}`),
    figure('peak.loss.bursts', share(bursts), 95, '%', `to reach: within ${NEAR_DB} dB; ${keying}`),
    figure(
      'peak.keydown',
      Math.max(...bursts.map(({ longestKeyS }) => longestKeyS)),
      BUDGET.atMostS,
      's',
      `the key-down that is allowed; longest of ${keying}`,
    ),
    figure(
      'peak.seconds.slow',
      medianOf(slow.map(({ seconds }) => seconds)),
      200,
      's',
      `the longest job with two slugs in step-and-wait; median of ${many}`,
    ),
  ]
}

function setting(): Figure[] {
  const rng = seededRng(SEED)
  return SET_SCENES.flatMap((scene) => {
    const done = Array.from({ length: JOBS }, () => setTo(scene, rng))
    const inside = (100 * done.filter((job) => job.finished && job.inside).length) / JOBS
    const many = `${JOBS} set-tos of ${scene.name}, seed ${SEED}`
    return [
      figure('setto.aim', inside, 99, '%', `to reach: ends inside the aim window; ${many}`),
      figure(
        'setto.overshoots',
        medianOf(done.map(({ overshoots }) => overshoots)),
        1,
        'overshoots',
        `to reach at most, median of ${many}; ${medianOf(done.map(({ seconds }) => seconds)).toFixed(0)} s in the median`,
      ),
    ]
  })
}

const COST_US = 20
const READINGS = 200
const REPEATS = 15

function costs(): Figure[] {
  const band = { low: 3.6, high: 4, aim: 3.85 }
  const power = { ...METER_FACTS.power, pathLossDb: 0, step: 0.01 }
  const peak = liveRule(power, { kind: 'peak', dip: false })
  const set = liveRule(power, { kind: 'band', band, aimLow: 3.8, aimHigh: 3.9, rule: null }, 0, { usual: null })
  return [
    figure(
      'peak.cost',
      costUs(peak),
      COST_US,
      'us',
      'the time allowed for one more reading through correction, settling, peak guide and verdict; median of the best of 15 times',
    ),
    figure('setto.cost', costUs(set), COST_US, 'us', 'the same for a reading that something is set to'),
  ]
}

function costUs(rule: LiveRule): number {
  const rng = seededRng(SEED)
  const readings = Array.from({ length: READINGS }, (_, index): Reading => {
    const value = 3.5 * (1 + 0.1 * Math.sin(index / 30)) * (1 + 0.005 * normal(rng))
    const arrivedMs = index * 250
    return {
      quantity: 'RF power',
      instrument: 'power',
      epoch: 1,
      beganMs: arrivedMs - 100,
      arrivedMs,
      raw: '',
      value,
      state: 'good',
    }
  })
  const bestUs = readings.map(() => Number.POSITIVE_INFINITY)
  for (let repeat = 0; repeat < REPEATS; repeat++) {
    let live = startLive(rule)
    for (const [index, reading] of readings.entries()) {
      const beganMs = performance.now()
      live = addReading(live, reading, rule, { counts: true, amps: 1.2, heating: true })
      errorOf(live, rule)
      bestUs[index] = Math.min(bestUs[index] ?? Number.POSITIVE_INFINITY, (performance.now() - beganMs) * 1000)
    }
  }
  return medianOf(bestUs)
}

const share = (done: Parameters<typeof shareWithin>[0]) => 100 * shareWithin(done, NEAR_DB)

function figure(name: string, ours: number, reference: number, unit: string, against: string): Figure {
  return { name, ours, reference, ratio: ours / reference, unit, against }
}
