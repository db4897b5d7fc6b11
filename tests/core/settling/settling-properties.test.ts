import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { addToSettling, type SettleState, startSettling } from '../../../src/core/settling/settling.ts'
import { normal, seededRng } from '../../../src/system/rng.ts'
import { FAMILIES, METERS, recordOf } from '../../kit/settling/settle-families.ts'
import { ruleFor } from '../../kit/settling/settle-trial.ts'

const seeds = fc.integer({ min: 1, max: 1e6 })
const family = fc.constantFrom(...FAMILIES)
const meter = fc.constantFrom(...METERS)
const runs = { numRuns: 25 }

type Samples = readonly { readonly atS: number; readonly value: number }[]

function fold(samples: Samples, rule: ReturnType<typeof ruleFor>): SettleState[] {
  const states: SettleState[] = []
  for (const sample of samples) states.push(addToSettling(states.at(-1) ?? startSettling(), sample, rule))
  return states
}

describe('for any record', () => {
  test('no verdict of settled before 1 s of agreement, and none before 2.25 s of readings', () => {
    fc.assert(
      fc.property(seeds, family, meter, (seed, kind, seen) => {
        const { samples } = recordOf(kind, seen, seededRng(seed))
        const states = fold(samples, ruleFor(seen))
        for (const [index, state] of states.entries()) {
          if (state.verdict !== 'settled') continue
          const atS = samples[index]?.atS ?? 0
          expect(atS - (state.passingSinceS ?? atS)).toBeGreaterThanOrEqual(1 - 1e-8)
          expect(atS - (samples[0]?.atS ?? 0)).toBeGreaterThanOrEqual(2.25 - 0.05)
          break
        }
      }),
      runs,
    )
  })

  test('the same record gives the same answer, and no state is changed by what follows it', () => {
    fc.assert(
      fc.property(seeds, family, meter, (seed, kind, seen) => {
        const { samples } = recordOf(kind, seen, seededRng(seed))
        const states = fold(samples.slice(0, 60), ruleFor(seen))
        const before = JSON.stringify(states[30])
        const again = fold(samples.slice(0, 60), ruleFor(seen))
        expect(JSON.stringify(states)).toBe(JSON.stringify(again))
        expect(JSON.stringify(states[30])).toBe(before)
      }),
      runs,
    )
  })

  test('a poll that sees the same reading twice changes nothing', () => {
    fc.assert(
      fc.property(seeds, family, meter, (seed, kind, seen) => {
        const samples = recordOf(kind, seen, seededRng(seed)).samples.slice(0, 60)
        const once = fold(samples, ruleFor(seen))
        const twice = fold(
          samples.flatMap((sample) => [sample, sample]),
          ruleFor(seen),
        )
        expect(JSON.stringify(twice.filter((_, index) => index % 2 === 1))).toBe(JSON.stringify(once))
      }),
      runs,
    )
  })

  test('neither the hour, nor the level, nor the unit changes the verdicts', () => {
    fc.assert(
      fc.property(seeds, family, fc.constantFrom(1e-3, 0.5, 40), (seed, kind, scale) => {
        const seen = METERS[1]
        if (!seen) throw new Error('no meter')
        const { samples } = recordOf(kind, seen, seededRng(seed))
        const rule = ruleFor(seen)
        const plain = fold(samples.slice(0, 80), rule).map((state) => state.verdict)
        const moved = samples.slice(0, 80).map(({ atS, value }) => ({ atS: atS + 4096, value: (value - 300) * scale }))
        const scaled = { ...rule, delta: rule.delta * scale, sigma: rule.sigma * scale }
        expect(fold(moved, scaled).map((state) => state.verdict)).toEqual(plain)
      }),
      runs,
    )
  })

  test('share and figures stay in their ranges, and fewer than 201 readings are kept', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(fc.double({ min: 0.001, max: 2, noNaN: true }), fc.double({ min: -50, max: 50, noNaN: true })),
          { maxLength: 80 },
        ),
        (steps) => {
          const timesS = steps.map((_, index) => steps.slice(0, index + 1).reduce((sum, [gapS]) => sum + gapS, 0))
          const samples = steps.map(([, value], index) => ({ atS: timesS[index] ?? 0, value }))
          for (const state of fold(samples, {
            ...ruleFor({ name: '', sigma: 0.2, spikes: 0, smoothing: 0.3, step: 0.1, everyS: 0.25, jitterS: 0 }),
          })) {
            expect(state.share).toBeGreaterThanOrEqual(0)
            expect(state.share).toBeLessThanOrEqual(1)
            expect(state.samples.length).toBeLessThanOrEqual(200)
            if (state.count > 1)
              expect(Number.isFinite(state.value + state.mean + state.spread + state.slope)).toBe(true)
          }
        },
      ),
      { numRuns: 60 },
    )
  })
})

describe('poll jitter', () => {
  test.each([0, 0.01, 0.05, 0.1])(
    'of +-%d s: 40 steps settle within 6.5 s of the truth, on the same value to within half a delta',
    (jitterS) => {
      const plain = METERS[0]
      if (!plain) throw new Error('no meter')
      for (let seed = 1; seed <= 40; seed++) {
        const seen = { ...plain, jitterS }
        const record = recordOf('step', seen, seededRng(seed))
        const states = fold(record.samples, ruleFor(seen))
        const at = states.findIndex((state) => state.verdict === 'settled')
        const settledS = record.samples[at]?.atS ?? Number.POSITIVE_INFINITY
        expect(settledS - (record.stillFromS ?? 0)).toBeLessThanOrEqual(6.5)
        expect(Math.abs((states[at]?.value ?? 0) - record.truth(settledS + 5))).toBeLessThan(0.5)
      }
    },
  )
})

test('spikes on 5 % of the readings do not keep a steady value from settling, nor move it by a quarter of delta', () => {
  for (let seed = 1; seed <= 30; seed++) {
    const rng = seededRng(seed)
    const spiky = Array.from({ length: 40 }, (_, index) => ({
      atS: 2 + index * 0.25,
      value: 0.1 * normal(rng) + (index % 20 === 9 ? 20 * (rng() - 0.5) + 8 : 0),
    }))
    const last = fold(
      spiky,
      ruleFor({ name: '', sigma: 0.1, spikes: 0, smoothing: 0, step: 0, everyS: 0.25, jitterS: 0 }),
    ).at(-1)
    expect(last?.verdict).toBe('settled')
    expect(Math.abs(last?.value ?? 1)).toBeLessThan(0.25)
  }
})
