import { peakRule, startPeak, watchPeak } from '../../src/core/peak.ts'
import { addToSettling, startSettling } from '../../src/core/settling.ts'
import { seededRng } from '../../src/system/rng.ts'
import { FAMILIES, HOLDS_S, METERS, type Meter, recordOf } from '../kit/settle-families.ts'
import {
  byRange,
  bySettling,
  type Declare,
  percent,
  quantile,
  ruleFor,
  sum,
  type Tally,
  tryFamily,
} from '../kit/settle-trial.ts'
import type { Figure } from './figure.ts'

const EACH = 150
const SEED = 41
/** The median delay is asked for at this noise. */
const DELAY_METER = 'sigma 0.25'
const COST_US = 20
/** Each reading is timed so often and the best time taken: the rest is other work on the machine. */
const REPEATS = 5

/** How often settled is said too early or never, and how long it takes, beside the popular test on the same records. */
export async function settleFigures(): Promise<Figure[]> {
  const ours = METERS.map((meter) => talliesOf(meter, bySettling()))
  const popular = METERS.map((meter) => talliesOf(meter, byRange))
  const records = `${EACH} records of each of ${FAMILIES.length} families by each of ${METERS.length} meters, seed ${SEED}`
  const range = `the last 2.5 s inside one delta for 1 s; ${records}`
  const at = METERS.findIndex((meter) => meter.name === DELAY_METER)
  const delays = (all: readonly (readonly Tally[])[]) => sum(all[at] ?? []).delaysS
  const oracle = oracleS(METERS[at])
  const families = (all: readonly (readonly Tally[])[]) =>
    FAMILIES.map((_, index) => sum(all.map((tallies) => tallies[index]).filter((tally) => tally !== undefined)))
  return [
    figure('settle.false', falsePercent(sum(ours.flat())), falsePercent(sum(popular.flat())), '%', range),
    figure('settle.missed', missedPercent(sum(ours.flat())), missedPercent(sum(popular.flat())), '%', range),
    figure(
      'settle.delay',
      quantile(delays(ours), 0.5),
      quantile(delays(popular), 0.5),
      's',
      `${range}; ${DELAY_METER}`,
    ),
    figure(
      'settle.delay.oracle',
      quantile(delays(ours), 0.5),
      oracle,
      's',
      `an oracle that is told when the truth becomes still and the noise, and then needs the readings that bring two standard errors of a straight line below delta, and 1 s; ${DELAY_METER}`,
    ),
    figure(
      'settle.delay.p90',
      quantile(delays(ours), 0.9),
      quantile(delays(popular), 0.9),
      's',
      `${range}; ${DELAY_METER}`,
    ),
    figure(
      'settle.meter',
      worst(ours.map(sum)),
      worst(popular.map(sum)),
      '%',
      `false in the worst of the meters; ${range}`,
    ),
    figure(
      'settle.family',
      worst(ours.flat()),
      worst(popular.flat()),
      '%',
      `false in the worst family of a single meter that is declared at least ${EACH / 2} times; ${range}`,
    ),
    figure(
      'settle.families',
      worst(families(ours)),
      worst(families(popular)),
      '%',
      `false in the worst family over all meters; ${range}`,
    ),
    figure(
      'settle.cost',
      costUs(),
      COST_US,
      'us',
      'the time allowed for one reading through settling and the peak guide; median of the best of 5 times',
    ),
  ]
}

function talliesOf(meter: Meter, declare: Declare): Tally[] {
  return FAMILIES.map((family) => tryFamily(family, meter, declare, EACH, SEED))
}

function figure(name: string, ours: number, reference: number, unit: string, against: string): Figure {
  return { name, ours, reference, ratio: ours / reference, unit, against }
}

const falsePercent = (tally: Tally) => percent(tally.false, tally.declared)
const missedPercent = (tally: Tally) => percent(tally.missed, tally.still)

/** Families that never rest are seldom declared, and then always falsely: they count in the mix, not here. */
function worst(tallies: readonly Tally[]): number {
  return Math.max(...tallies.filter((tally) => tally.declared >= EACH / 2).map(falsePercent))
}

/** n = (12 (2 H f sigma/delta)^2)^(1/3) readings, at least 1.5 s of them, and a second of agreement. */
function oracleS(meter: Meter | undefined): number {
  if (!meter) return Number.NaN
  const readings = Math.cbrt(12 * ((2 * HOLDS_S * meter.sigma) / meter.everyS) ** 2)
  return Math.max(1.5, readings * meter.everyS) + 1
}

function costUs(): number {
  const meter = METERS[1]
  if (!meter) return Number.NaN
  const rng = seededRng(SEED)
  const rule = ruleFor(meter)
  const peak = peakRule({ sigmaDb: 0.02, latencyS: 0.3 })
  const takenUs: number[] = []
  for (const family of FAMILIES.flatMap((one) => [one, one, one])) {
    const { samples } = recordOf(family, meter, rng)
    const bestUs = samples.map(() => Number.POSITIVE_INFINITY)
    for (let repeat = 0; repeat < REPEATS; repeat++) {
      let state = startSettling()
      let watch = startPeak()
      for (const [index, { atS, value }] of samples.entries()) {
        const beganMs = performance.now()
        state = addToSettling(state, { atS, value }, rule)
        watch = watchPeak(watch, { atS, value: 5 + value / 100, heating: true }, peak)
        bestUs[index] = Math.min(bestUs[index] ?? Number.POSITIVE_INFINITY, (performance.now() - beganMs) * 1000)
      }
    }
    takenUs.push(...bestUs)
  }
  return quantile(takenUs, 0.5)
}
