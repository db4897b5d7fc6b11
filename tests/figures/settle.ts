import { peakRule, watchPeak } from '../../src/core/peaking/peak.ts'
import { startPeak } from '../../src/core/peaking/peak-watch.ts'
import { addToSettling, startSettling } from '../../src/core/settling/settling.ts'
import { seededRng } from '../../src/system/rng.ts'
import { DISTURBANCES, disturbedBy, tryDisturbed } from '../kit/settling/settle-disturbances.ts'
import { FAMILIES, METERS, recordOf, type TrueRecord } from '../kit/settling/settle-families.ts'
import { oracle, oracleErrors } from '../kit/settling/settle-oracle.ts'
import {
  byRange,
  bySettling,
  type Declare,
  percent,
  quantile,
  rangeWithin,
  recordsOf,
  ruleFor,
  sum,
  type Tally,
  tryRecords,
} from '../kit/settling/settle-trial.ts'
import type { Figure } from './figure.ts'
import { writePlots } from './plots.ts'
import { settlePlots, type TradeOff, tradeOffPlot } from './settle-plots.ts'

const EACH = 150
const SEED = 41
/** Disturbed records of each family and kind, and records of each family for each point of the trade-off. */
const DISTURBED = 100
const CURVE = 60
/** The median delay is asked for at this noise. */
const DELAY_METER = 'sigma 0.25'
const COST_US = 20
/** Each reading is timed so often and the best time taken: the rest is other work on the machine. */
const REPEATS = 15
/** The trade-off: the test is asked for so many deltas while the truth is still judged by one. */
const STRICTNESS = [0.6, 0.8, 1, 1.25, 1.6]
const RANGES = [0.6, 0.8, 1, 1.25, 1.6]

/** How often settled is said too early or never, how long it takes, beside the popular test and the oracle on the same records; plots into `folder`. */
export async function settleFigures(folder: string): Promise<Figure[]> {
  // the cost first: a service judges a few readings a second, not a million of other meters before
  const cost = costUs()
  const records = METERS.map((meter) => FAMILIES.map((family) => recordsOf(family, meter, EACH, SEED)))
  const tallies = (declare: Declare) =>
    METERS.map((meter, at) => (records[at] ?? []).map((of) => tryRecords(of, meter, declare)))
  const ours = tallies(bySettling())
  const popular = tallies(byRange)
  const disturbed = disturbedTallies()
  await writePlots(folder, settlePlots())
  return [
    ...mixFigures(ours, popular),
    ...familyFigures(ours, popular),
    ...disturbedFigures(disturbed),
    wholeFigure(ours, popular, disturbed),
    ...oracleFigures(ours, (records[delayAt()] ?? []).flat()),
    ...(await tradeOffFigures(folder)),
    figure(
      'settle.cost',
      cost,
      COST_US,
      'us',
      'the time allowed for one reading through settling and the peak guide; median of the best of 15 times',
    ),
  ]
}

const MANY = `${EACH} records of each of ${FAMILIES.length} families by each of ${METERS.length} meters, seed ${SEED}`
const RANGE = `the last 2.5 s inside one delta for 1 s; ${MANY}`

type PerMeter = readonly (readonly Tally[])[]

function mixFigures(ours: PerMeter, popular: PerMeter): Figure[] {
  const both = (name: string, of: (all: PerMeter) => number, unit: string, against: string) =>
    figure(name, of(ours), of(popular), unit, against)
  const delays = (all: PerMeter) => sum(all[delayAt()] ?? []).delaysS
  return [
    both('settle.false', (all) => falsePercent(sum(all.flat())), '%', RANGE),
    both('settle.missed', (all) => missedPercent(sum(all.flat())), '%', RANGE),
    both('settle.delay', (all) => quantile(delays(all), 0.5), 's', `${RANGE}; ${DELAY_METER}`),
    both('settle.delay.p90', (all) => quantile(delays(all), 0.9), 's', `${RANGE}; ${DELAY_METER}`),
    both('settle.meter', (all) => worst(all.map(sum)), '%', `false in the worst of the meters; ${RANGE}`),
    both(
      'settle.family',
      (all) => worst(all.flat()),
      '%',
      `false in the worst family of a single meter that is declared at least ${EACH / 2} times; ${RANGE}`,
    ),
  ]
}

/** Families that never rest are seldom declared, and then always falsely: of them, declarations per record. */
function familyFigures(ours: PerMeter, popular: PerMeter): Figure[] {
  const of = (all: PerMeter, index: number) =>
    sum(all.map((tallies) => tallies[index]).filter((tally) => tally !== undefined))
  return FAMILIES.map((family, index) => {
    const rests = of(popular, index).still > 0
    const share = (tally: Tally) => (rests ? falsePercent(tally) : percent(tally.false, EACH * METERS.length))
    return figure(
      `settle.family.${family.replaceAll(' ', '-')}`,
      share(of(ours, index)),
      share(of(popular, index)),
      '%',
      `false of ${rests ? 'the declarations' : 'all records: nothing rests'}, over all meters; ${RANGE}`,
    )
  })
}

interface DisturbedTallies {
  readonly name: string
  readonly ours: readonly Tally[]
  readonly popular: readonly Tally[]
}

function disturbedTallies(): readonly DisturbedTallies[] {
  return Object.keys(DISTURBANCES).map((name) => {
    const all = disturbedBy(name, DISTURBED, SEED)
    const perFamily = (declare: Declare) =>
      FAMILIES.map((_, index) => tryDisturbed(all.slice(index * DISTURBED, (index + 1) * DISTURBED), declare))
    return { name, ours: perFamily(bySettling()), popular: perFamily(byRange) }
  })
}

function disturbedFigures(all: readonly DisturbedTallies[]): Figure[] {
  const about = `the last 2.5 s inside one delta for 1 s; ${DISTURBED} records of each of ${FAMILIES.length} families`
  const worstFamily = (pick: (one: DisturbedTallies) => readonly Tally[]) =>
    Math.max(
      ...all
        .flatMap(pick)
        .filter(({ declared }) => declared >= DISTURBED / 2)
        .map(falsePercent),
    )
  return [
    ...all.flatMap(({ name, ours, popular }) => {
      const slug = name.replaceAll(/[^a-z0-9]+/g, '-').replace(/-$/, '')
      return [
        figure(`settle.disturbed.${slug}`, falsePercent(sum(ours)), falsePercent(sum(popular)), '%', `false: ${about}`),
        figure(`settle.missed.${slug}`, missedPercent(sum(ours)), missedPercent(sum(popular)), '%', `missed: ${about}`),
      ]
    }),
    figure(
      'settle.disturbed.family',
      worstFamily(({ ours }) => ours),
      worstFamily(({ popular }) => popular),
      '%',
      `false in the worst family of a single disturbance; ${about}`,
    ),
  ]
}

function wholeFigure(ours: PerMeter, popular: PerMeter, disturbed: readonly DisturbedTallies[]): Figure {
  return figure(
    'settle.whole',
    falsePercent(sum([...ours.flat(), ...disturbed.flatMap((one) => one.ours)])),
    falsePercent(sum([...popular.flat(), ...disturbed.flatMap((one) => one.popular)])),
    '%',
    `false over the mix and all ${disturbed.length} disturbances together; the last 2.5 s inside one delta for 1 s`,
  )
}

function oracleFigures(ours: PerMeter, records: readonly TrueRecord[]): Figure[] {
  const meter = METERS[delayAt()]
  if (!meter) throw new Error(`no meter ${DELAY_METER}`)
  const tally = sum(ours[delayAt()] ?? [])
  const share = falsePercent(tally)
  const against = (name: string, drifts: boolean, words: string) => {
    const errors = oracleErrors(records, share, (of, declare) => falsePercent(tryRecords(of, meter, declare)), drifts)
    const theirs = tryRecords(records, meter, oracle(errors, drifts))
    return figure(
      name,
      quantile(tally.delaysS, 0.5),
      quantile(theirs.delaysS, 0.5),
      's',
      `${words}; ${errors.toFixed(2)} standard errors, false ${falsePercent(theirs).toFixed(2)} % against ${share.toFixed(2)} %; ${records.length} records, ${DELAY_METER}`,
    )
  }
  return [
    against(
      'settle.delay.oracle',
      true,
      'an oracle that is told noise, time constant and when the last thing happened, and finds place, size and drift from the readings',
    ),
    against(
      'settle.delay.bound',
      false,
      'the same oracle, told too that nothing drifts where something fades: a bound for what no test can know',
    ),
  ]
}

/** Delay of ours at several strictnesses, beside the oracle's where it is wrong as often. */
async function tradeOffFigures(folder: string): Promise<Figure[]> {
  const meter = METERS[delayAt()]
  if (!meter) throw new Error(`no meter ${DELAY_METER}`)
  const records = FAMILIES.flatMap((family) => recordsOf(family, meter, CURVE, SEED + 1))
  const pointOf = (declare: Declare) => {
    const tally = tryRecords(records, meter, declare)
    return { falsePercent: falsePercent(tally), delayS: quantile(tally.delaysS, 0.5) }
  }
  const ours = STRICTNESS.map((delta) => pointOf(bySettling(() => ({ delta }))))
  const ranges = RANGES.map((range) => pointOf(rangeWithin(range)))
  const errors = Array.from({ length: 15 }, (_, index) => 0.4 + 0.2 * index)
  const oracles = errors.map((one) => pointOf(oracle(one)))
  const curves: TradeOff[] = [
    { name: 'ours', points: ours },
    { name: 'oracle', points: oracles },
    { name: 'range test', points: ranges },
  ]
  const about = `${records.length} records, ${DELAY_METER}; stricter to the right`
  await writePlots(folder, { 'settle-trade-off': tradeOffPlot(curves, about) })
  return ours.map((point, index) => {
    const same = oracles.find(({ falsePercent: share }) => share <= point.falsePercent)
    return figure(
      `settle.tradeoff.${STRICTNESS[index]}`,
      point.delayS,
      same?.delayS ?? Number.NaN,
      's',
      `median delay when ${STRICTNESS[index]} delta is asked for (false ${point.falsePercent.toFixed(2)} %), and the oracle's where it is wrong no oftener; ${about}`,
    )
  })
}

function delayAt(): number {
  return METERS.findIndex((meter) => meter.name === DELAY_METER)
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
