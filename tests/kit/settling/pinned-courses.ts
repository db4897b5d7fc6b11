import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import type { SettleRule } from '../../../src/core/settling/settle-rule.ts'
import { normal, seededRng } from '../../../src/system/rng.ts'
import { DISTURBANCES, disturbedBy } from './settle-disturbances.ts'
import { between, FAMILIES, METERS, type Meter } from './settle-families.ts'
import { recordsOf, ruleFor } from './settle-trial.ts'

/** Readings of one meter as they came, and the rule that they are looked at by. */
export interface Course {
  readonly name: string
  readonly rule: SettleRule
  /** Pairs of time, s, and value. */
  readonly readings: readonly (readonly [number, number])[]
}

export const FIGURES = join(import.meta.dirname, '..', '..', 'reference', 'figures')
export const COURSES = join(FIGURES, 'courses.json.gz')

/** The readings that every version is held against, as they were written down once. */
export function pinnedCourses(): readonly Course[] {
  return JSON.parse(gunzipSync(readFileSync(COURSES)).toString('utf8'))
}

const MOST = 90

/** How the pinned readings were made: every family by every meter, every disturbance, and what no family has. Only a new file of them asks for it. */
export function madeCourses(): readonly Course[] {
  return [
    ...FAMILIES.flatMap((family) =>
      METERS.flatMap((meter) =>
        recordsOf(family, meter, 1, 31).map(({ samples }) => course(`${family}, ${meter.name}`, meter, samples)),
      ),
    ),
    ...Object.keys(DISTURBANCES).flatMap((name) =>
      disturbedBy(name, 1, 32).map(({ record, meter }) => course(`${record.family}, ${name}`, meter, record.samples)),
    ),
    ...Object.entries({ ...ODD, ...jumps() }).map(([name, { changes, value }], at) => {
      const rng = seededRng(33 + at)
      const rule = ruleFor({ ...METERS[0], ...SMALL }, changes)
      const samples = Array.from({ length: MOST }, (_, index) => {
        const atS = (index + 1) * rule.everyS
        return { atS, value: value(atS, index, normal(rng)) }
      })
      return { name, rule, readings: samples.map(asPair) }
    }),
  ]
}

const SMALL = { name: '', sigma: 0.1, spikes: 0, smoothing: 0, step: 0, everyS: 0.25, jitterS: 0 } as const

/** `noise`: of a standard deviation of 1. */
interface Odd {
  readonly changes: Partial<SettleRule>
  readonly value: (atS: number, index: number, noise: number) => number
}

const ODD: Readonly<Record<string, Odd>> = {
  'hunting between two ranges': { changes: {}, value: (_, index, noise) => (index % 3 === 0 ? 4 : 0) + 0.1 * noise },
  'hunting once in five': { changes: {}, value: (_, index, noise) => (index % 5 === 4 ? 2 : 0) + 0.1 * noise },
  'hunting rarely': { changes: {}, value: (_, index, noise) => (index % 11 === 7 ? 6 : 0) + 0.1 * noise },
  'two broad heaps': { changes: {}, value: (_, index, noise) => (index % 2 === 0 ? 3 : 0) + 0.6 * noise },
  'heaps of a little more than delta': { changes: {}, value: (_, index, noise) => 1.2 * (index % 2) + 0.02 * noise },
  'to and fro through every place': { changes: {}, value: (atS, _, noise) => 3 * Math.sin(2 * atS) + 0.05 * noise },
  'the same to the last digit': { changes: {}, value: (_, index, noise) => (index < 8 ? 0.1 * noise : 0.05) },
  'the same eight times in a row, now and then': {
    changes: {},
    value: (_, index, noise) => (index % 20 < 10 ? 0.02 : 0.1 * noise),
  },
  'spikes more often than one in ten': {
    changes: {},
    value: (_, index, noise) => 0.1 * noise + (index % 8 === 5 ? 12 + noise : 0),
  },
  'noise of two delta': { changes: { sigma: 2 }, value: (_, __, noise) => 2 * noise },
  'noise of 0.6 delta that hangs together': { changes: { sigma: 0.6, smoothing: 0.5 }, value: (_, __, n) => 0.6 * n },
  'noise that the driver does not know': { changes: { sigma: 0 }, value: (_, __, noise) => 0.3 * noise },
  'noise that the driver does not know, and a tail': {
    changes: { sigma: 0 },
    value: (atS, _, noise) => 8 * Math.exp(-atS / 4) + 0.1 * noise,
  },
  'a gate of 1 s, 10 s ahead': { changes: { everyS: 1.05, trueForS: 10 }, value: (_, __, noise) => 0.05 * noise },
  'a gate of 4 s': { changes: { everyS: 4.1, latencyS: 4 }, value: (atS, _, n) => 6 * Math.exp(-atS / 9) + 0.1 * n },
  'a meter of 2 s latency': { changes: { latencyS: 2 }, value: (atS, _, n) => 6 * Math.exp(-atS / 1.5) + 0.1 * n },
  'a gap of 2 s': { changes: {}, value: (_, index, noise) => (index < 20 ? 0 : 5) + 0.1 * noise },
  'delta and noise by the level': {
    changes: { delta: 0.01, deltaOfReading: 0.0116, sigma: 0.001, sigmaOfReading: 0.002 },
    value: (atS, _, noise) => (40 + 20 * (1 - Math.exp(-atS / 3))) * (1 + 0.002 * noise),
  },
  'over a crest': { changes: {}, value: (atS, _, noise) => 4 - 0.15 * (atS - 7) ** 2 + 0.1 * noise },
  'settled, then a slow start': {
    changes: {},
    value: (atS, _, noise) => (atS < 9 ? 0 : 0.4 * (atS - 9)) + 0.1 * noise,
  },
  'settled, then half a delta off': { changes: {}, value: (atS, _, noise) => (atS < 9 ? 0 : 0.6) + 0.05 * noise },
  'settled, then a delta off': { changes: {}, value: (atS, _, noise) => (atS < 9 ? 0 : 1.3) + 0.05 * noise },
  'a ramp that jumps back': { changes: {}, value: (atS, _, noise) => ramp(0.35, atS) + 0.1 * noise },
  'a faster ramp that jumps back': { changes: {}, value: (atS, _, noise) => ramp(0.5, atS) + 0.25 * noise },
  'a slow ramp that jumps back': {
    changes: { sigma: 0.05 },
    value: (atS, _, noise) => ramp(0.22, atS) + 0.05 * noise,
  },
  'a creep that a jump hides': {
    changes: {},
    value: (atS, _, noise) => 5 * (1 - Math.exp(-atS / 12)) - (atS > 9 ? 1.6 : 0) + 0.1 * noise,
  },
  'drifting evenly': { changes: {}, value: (atS, _, noise) => 0.28 * atS + 0.05 * noise },
}

/** Up by so much a second, and at 10 s back by what it rose in 4 s: a line through both looks like rest. */
const ramp = (perS: number, atS: number) => perS * atS - (atS > 10 ? 4 * perS : 0)

/** Slopes that a jump breaks, by chance: as large as the noise lets it be seen, and a little smaller. */
function jumps(): Readonly<Record<string, Odd>> {
  const rng = seededRng(34)
  return Object.fromEntries(
    Array.from({ length: 24 }, (_, at) => {
      const sigma = between(rng, 0.05, 0.7)
      const by = Math.max(1, 3.3 * sigma) * between(rng, 0.9, 1.6)
      const perS = (between(rng, -1, 1.5) * by) / 4
      const atS = between(rng, 5, 16)
      const value: Odd['value'] = (nowS, _, noise) => perS * nowS - (nowS > atS ? by : 0) + sigma * noise
      return [
        `jump ${at} of ${by.toFixed(2)} in noise of ${sigma.toFixed(2)}`,
        { changes: at % 4 === 3 ? { sigma: 0 } : { sigma }, value },
      ]
    }),
  )
}

function course(name: string, meter: Meter, samples: readonly { readonly atS: number; readonly value: number }[]) {
  return { name, rule: ruleFor(meter), readings: samples.slice(0, MOST).map(asPair) }
}

/** To a thousandth, so that the last bits of another processor make no difference. */
function asPair({ atS, value }: { readonly atS: number; readonly value: number }): readonly [number, number] {
  return [Math.round(1000 * atS) / 1000, Math.round(1000 * value) / 1000]
}
