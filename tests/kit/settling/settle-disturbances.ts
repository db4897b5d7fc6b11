import type { Rng } from '../../../src/system/rng.ts'
import { seededRng } from '../../../src/system/rng.ts'
import {
  between,
  FAMILIES,
  type Family,
  METERS,
  type Meter,
  PLAIN_METER,
  recordFrom,
  seenBy,
  sign,
  type TrueRecord,
  type Truth,
  truthOf,
} from './settle-families.ts'
import { type Declare, sum, type Tally, tallyOf } from './settle-trial.ts'

/** One record with something wrong on the way from the truth to the reading, and the meter as its driver describes it. */
export interface Disturbed {
  readonly record: TrueRecord
  readonly meter: Meter
}

/** What else happens on a bench, each to records of all seven families. Ranges in delta and s. */
export const DISTURBANCES: Readonly<Record<string, (family: Family, rng: Rng) => Disturbed>> = {
  'range change': (family, rng) => {
    const seen = plainly(family, rng)
    const atS = between(rng, 3, 20)
    const deadS = between(rng, 0.3, 1)
    const off = sign(rng) * between(rng, 3, 20)
    const wrong = 1 + Math.floor(3 * rng())
    const later = seen.record.samples.filter((one) => one.atS >= atS + deadS)
    const samples = [
      ...seen.record.samples.filter((one) => one.atS < atS),
      ...later.map((one, index) => (index < wrong ? { ...one, value: one.value + off / (index + 1) } : one)),
    ]
    return { ...seen, record: { ...seen.record, samples } }
  },
  'dropped link': (family, rng) => {
    const seen = plainly(family, rng)
    const fromS = between(rng, 3, 20)
    const untilS = fromS + between(rng, 0.8, 6)
    const samples = seen.record.samples.filter(({ atS }) => atS < fromS || atS > untilS)
    return { ...seen, record: { ...seen.record, samples, againFromS: untilS } }
  },
  latency: (family, rng) => plainly(family, rng, { lagS: between(rng, 0.1, 2) }),
  rate: (family, rng) => plainly(family, rng, { everyS: 0.1 * 10 ** rng(), jitterS: 0.01 }),
  'tool out': (family, rng) => {
    const atS = between(rng, 6, 22)
    const by = sign(rng) * between(rng, 1.2, 4)
    return touched(family, rng, atS, (sinceS) => by * Math.min(1, sinceS / 0.1))
  },
  'field on the lead': (family, rng) => {
    const atS = between(rng, 6, 22)
    const by = sign(rng) * between(rng, 1.2, 10)
    const tauS = between(rng, 0.05, 0.4)
    return touched(family, rng, atS, (sinceS) => by * (1 - Math.exp(-sinceS / tauS)))
  },
  'display step': (family, rng) => plainly(family, rng, { sigma: 0.1, step: 0.02 * 50 ** rng() }),
  'heavy tails': (family, rng) => plainly(family, rng, { heavy: true }),
  'noise 0.05 to 0.5': (family, rng) => plainly(family, rng, { sigma: 0.05 * 10 ** rng() }),
  'spikes, 3 %': (family, rng) => plainly(family, rng, { sigma: between(rng, 0.1, 0.5), spikes: 0.03 }),
  'smoothed 0.6': (family, rng) => plainly(family, rng, { sigma: between(rng, 0.1, 0.5), smoothing: 0.6 }),
}

const USUAL: Meter = { ...PLAIN_METER, name: 'disturbed', sigma: 0.25 }

function plainly(family: Family, rng: Rng, changes: Partial<Meter> = {}): Disturbed {
  const meter = { ...USUAL, ...changes }
  const truth = truthOf(family, rng)
  return { record: recordFrom(family, truth, seenBy(meter, truth.at, rng)), meter }
}

/** Something moves the truth at `touchedS`, and nobody says so. */
function touched(family: Family, rng: Rng, touchedS: number, by: (sinceS: number) => number): Disturbed {
  const { at, law } = truthOf(family, rng)
  const truth: Truth = { at: (atS) => at(atS) + (atS > touchedS ? by(atS - touchedS) : 0), law }
  return { record: recordFrom(family, truth, seenBy(USUAL, truth.at, rng), touchedS), meter: USUAL }
}

/** `each` seeded records of each family, disturbed in one way. */
export function disturbedBy(name: string, each: number, seed: number): readonly Disturbed[] {
  const disturb = DISTURBANCES[name]
  if (!disturb) throw new Error(`nothing disturbs by the name of ${name}`)
  const rng = seededRng(seed * 1000 + Object.keys(DISTURBANCES).indexOf(name) * 71 + METERS.length)
  return FAMILIES.flatMap((family) => Array.from({ length: each }, () => disturb(family, rng)))
}

/** Runs disturbed records through a test. */
export function tryDisturbed(disturbed: readonly Disturbed[], declare: Declare): Tally {
  return sum(disturbed.map(({ record, meter }) => tallyOf(record, meter, declare)))
}
