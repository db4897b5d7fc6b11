import { describe, expect, test } from 'vitest'
import { FAMILIES, METERS } from '../../kit/settling/settle-families.ts'
import {
  byRange,
  bySettling,
  percent,
  quantile,
  ruleFor,
  sum,
  type Tally,
  tryFamily,
} from '../../kit/settling/settle-trial.ts'

const EACH = 15
const SEED = 20

const tried = new Map<string, readonly Tally[]>()

/** One tally per family; each meter is tried once. */
function talliesOf(name: string): readonly Tally[] {
  const meter = METERS.find((one) => one.name === name)
  if (!meter) throw new Error(`no meter ${name}`)
  const known = tried.get(name) ?? FAMILIES.map((family) => tryFamily(family, meter, bySettling(), EACH, SEED))
  tried.set(name, known)
  return known
}

describe('seven families with a known truth, 15 records each', () => {
  test.each(METERS.map((meter) => meter.name))(
    '%s: at most 3 % declared too early, none missed, no family above 16 %',
    (name) => {
      const tallies = talliesOf(name)
      const all = sum(tallies)
      expect(all.declared).toBeGreaterThan(4.5 * EACH)
      expect(percent(all.false, all.declared)).toBeLessThanOrEqual(3)
      expect(percent(all.missed, all.still)).toBeLessThanOrEqual(1)
      for (const one of tallies)
        if (one.declared >= EACH) expect(percent(one.false, one.declared)).toBeLessThanOrEqual(16)
    },
  )

  test('sigma 0.25: half of the declarations within 5 s of the truth, nine in ten within 8.5 s', () => {
    const { delaysS } = sum(talliesOf('sigma 0.25'))
    expect(quantile(delaysS, 0.5)).toBeLessThanOrEqual(5)
    expect(quantile(delaysS, 0.9)).toBeLessThanOrEqual(8.5)
  })

  test('a truth that never rests is almost never declared: at most 1 record of 30', () => {
    for (const meter of METERS) {
      const [ramp, hum] = [talliesOf(meter.name)[4], talliesOf(meter.name)[5]]
      expect((ramp?.declared ?? 0) + (hum?.declared ?? 0)).toBeLessThanOrEqual(1)
    }
  })

  test('the records can tell a bad test: the last 2.5 s within one delta is wrong in more than 10 % at sigma 0.10', () => {
    const meter = METERS[0]
    if (!meter) throw new Error('no meter')
    const all = sum(FAMILIES.map((family) => tryFamily(family, meter, byRange, EACH, SEED)))
    expect(percent(all.false, all.declared)).toBeGreaterThan(10)
  })

  test('a driver that states half the noise, or none, still stays within 3 %', () => {
    const meter = METERS[1]
    if (!meter) throw new Error('no meter')
    for (const stated of [meter.sigma / 2, 0]) {
      const all = sum(
        FAMILIES.map((family) =>
          tryFamily(
            family,
            meter,
            bySettling(() => ({ sigma: stated })),
            EACH,
            SEED,
          ),
        ),
      )
      expect(percent(all.false, all.declared)).toBeLessThanOrEqual(3)
    }
    expect(ruleFor(meter).sigma).toBe(meter.sigma)
  })
})
